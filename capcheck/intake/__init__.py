"""Customers' files to tables to parts."""
