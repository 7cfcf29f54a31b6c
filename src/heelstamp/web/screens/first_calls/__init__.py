"""First calls: what owners tell and send before an instrument comes."""

from heelstamp.web.screens.first_calls.routes import router

__all__ = ["router"]
