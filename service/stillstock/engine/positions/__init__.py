"""Repeat parts: places on the table, what locates a part there, and how closely it comes back."""
