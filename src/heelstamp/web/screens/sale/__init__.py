"""Sale: how far it has come, what stands against the next step, and where the money is."""

from heelstamp.web.screens.sale.routes import router

__all__ = ["router"]
