"""A study of one's own: cases as data."""
