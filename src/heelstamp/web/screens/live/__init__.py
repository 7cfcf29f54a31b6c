"""The live channel of a dossier: server-sent events (WHATWG HTML, section 9.2)."""

from heelstamp.web.screens.live.routes import router

__all__ = ["router"]
