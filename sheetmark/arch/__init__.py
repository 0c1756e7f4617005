"""Arch models: sourced tables, the curve through the teeth, and where each tooth stands."""
