"""Models of the sheet and of patients. Never needed to print."""
