"""The instrument's own page: where it stands, what is known of it, what is next."""

from heelstamp.web.screens.instrument.routes import router

__all__ = ["router"]
