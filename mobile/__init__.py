"""The shell around the engine: launchers, screens, storage, the web build."""
