"""What people decide and what rindwatch found: places, placements, targets, calibrations, warnings, people."""
