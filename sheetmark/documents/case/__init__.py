"""The pages of one case: overlay, case card, stencil, and the sheet for a screen."""
