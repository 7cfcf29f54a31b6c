"""Strings, neck, action, intonation and frets: the instrument as its own spring balance."""
