"""Listing: the text for who looks for one, held against the report, and what shows it."""

from heelstamp.web.screens.listing.routes import router

__all__ = ["router"]
