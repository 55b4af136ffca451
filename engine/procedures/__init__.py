"""Guided work: files, rules of safety, runs replayed from records, their sums."""
