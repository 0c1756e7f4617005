"""The words of the case card, a module for each stage of the work."""
