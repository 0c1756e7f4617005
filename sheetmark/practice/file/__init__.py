"""The practice file: read and checked, written new, changed in place, shown as a form."""
