"""Renderers: pages of marks in mm to bytes. Draw what they are given and know no tooth."""
