"""What is due, and why."""
