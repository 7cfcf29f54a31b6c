"""Signing in and out, one's own account, and the owner's list of accounts and devices."""

from heelstamp.web.screens.accounts.routes import router

__all__ = ["router"]
