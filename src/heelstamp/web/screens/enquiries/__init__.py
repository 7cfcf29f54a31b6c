"""Enquiries: who asks and what was said, who waits, who comes to see it."""

from heelstamp.web.screens.enquiries.routes import router

__all__ = ["router"]
