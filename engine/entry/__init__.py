"""What is asked back while a number is typed."""
