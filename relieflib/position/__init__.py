"""Where relief devices stand on the drawing: placements, what can cut them off, spare, checks."""
