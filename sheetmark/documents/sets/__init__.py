"""Pages for several cases: the day's list and the drawer set."""
