"""Documents: plans in, pages of marks in mm out. Know nothing of PDF or SVG."""
