"""Powder in the vessel and on the shelf, and other supplies."""
