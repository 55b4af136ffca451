"""The web build: assembles, versions and serves the offline site (build, archive, precache, server)."""
