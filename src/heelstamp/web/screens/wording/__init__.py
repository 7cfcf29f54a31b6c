"""Wording: every sentence of the report with its frames; a weaker word freely."""

from heelstamp.web.screens.wording.routes import router

__all__ = ["router"]
