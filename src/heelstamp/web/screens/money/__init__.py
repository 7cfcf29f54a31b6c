"""Money: three numbers apart, what is behind them, and what stands before an advertisement."""

from heelstamp.web.screens.money.routes import router

__all__ = ["router"]
