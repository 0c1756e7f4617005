"""Pictures of arches, of patients served, and of the stretched sheet."""
