"""Teaching pages, one module for each."""
