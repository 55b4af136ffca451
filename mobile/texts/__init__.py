"""Every sentence that people read, by code."""
