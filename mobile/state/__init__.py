"""Pure state: snapshots, updates and the view models that the screens print."""
