"""The endpoints of the chairside page, and who may call them."""
