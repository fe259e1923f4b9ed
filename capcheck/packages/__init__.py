"""A part's name to its body."""
