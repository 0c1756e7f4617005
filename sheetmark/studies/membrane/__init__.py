"""The sheet as rubber: how a plan's sheet is stretched, and how hard it pulls on its frame."""
