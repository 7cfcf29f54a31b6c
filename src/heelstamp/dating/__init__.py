"""Exact dating: completion month and state of each part from everything seen on an instrument."""
