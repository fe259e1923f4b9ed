"""Who places what, and how fast."""
