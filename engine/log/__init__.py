"""What is recorded: the record classes, their text on disk, and reading them in order."""
