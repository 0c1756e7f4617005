"""The patient's own scan: read, turned to the occlusal view, shown, and its teeth proposed."""
