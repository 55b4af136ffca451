"""What the store hands on: the open records, what is asked of the host, export and import."""
