"""Data files of the package itself."""
