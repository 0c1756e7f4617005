"""The day's list, and the tray that it needs."""
