"""The command line: reads options, calls the stages, prints, writes files."""
