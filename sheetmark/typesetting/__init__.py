"""Marks in mm, text in columns, labels that touch nothing, bars. Knows paper, not teeth."""
