"""What a clinic sets once: sheets, punch, paper, placement, tray of clamps, printer."""
