"""What the browser keeps so that the bench goes on without a connection."""

from heelstamp.web.screens.offline.routes import router

__all__ = ["router"]
