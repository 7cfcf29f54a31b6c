"""Bundled knowledge, each file with its source: tables, parts trees, chronologies, the demo."""
