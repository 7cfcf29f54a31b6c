"""Pickups and controls from readings at the output jack, nothing de-soldered."""
