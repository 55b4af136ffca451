"""The web build: assembles, versions and serves the offline site."""
