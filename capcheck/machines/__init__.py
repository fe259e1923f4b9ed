"""Machine profiles and lines."""
