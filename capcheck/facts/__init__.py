"""What rules may ask for, and who provides it."""
