"""All terms on one page, and the lines of screens that a device has hidden."""

from heelstamp.web.screens.terms.routes import router

__all__ = ["router"]
