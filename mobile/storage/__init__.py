"""Records on the device: a journal of bytes, TinyDB above it, one door for whatever is loaded."""
