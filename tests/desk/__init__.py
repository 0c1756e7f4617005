"""The chairside page: its endpoints in this process, its views in a real browser."""
