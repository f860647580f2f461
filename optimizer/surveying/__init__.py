"""Points from tape, plumb line and level: readings that check each other."""
