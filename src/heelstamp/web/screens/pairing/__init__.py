"""Pairing a device: a code at the desk, four digits on both, let in by a person."""

from heelstamp.web.screens.pairing.routes import router

__all__ = ["router"]
