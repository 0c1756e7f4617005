"""One case: what is treated, what this mouth has or lacks, and its file. Knows no geometry."""
