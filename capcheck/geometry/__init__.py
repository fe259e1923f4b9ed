"""Clearances, gaps, marks and panels, from the outline and the bodies."""
