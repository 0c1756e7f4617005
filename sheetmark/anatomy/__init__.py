"""Teeth, arch models and where each tooth stands in the mouth frame, mm. Knows no cases."""
