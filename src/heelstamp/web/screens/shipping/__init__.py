"""Shipping: how it is packed, what to ask about the route, when the parcel may be opened."""

from heelstamp.web.screens.shipping.routes import router

__all__ = ["router"]
