"""Holding methods and the contacts that they are made of."""
