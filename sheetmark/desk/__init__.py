"""The chairside page: a small server on this machine, thin over what the command line calls."""
