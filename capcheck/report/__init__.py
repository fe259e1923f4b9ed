"""One module a format, over one report."""
