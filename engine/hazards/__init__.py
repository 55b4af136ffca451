"""Accidents: their courses, what makes a set-up safe, and a running overdose."""
