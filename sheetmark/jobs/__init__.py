"""What the command line and the page both run."""
