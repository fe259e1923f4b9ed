"""Rules: read, checked, evaluated, explained."""
