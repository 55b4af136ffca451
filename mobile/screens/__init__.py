"""One module a screen: a function of a snapshot and the store."""
