"""Webhooks: which programs are told that a dossier grew, and whether it arrives."""

from heelstamp.web.screens.webhooks.routes import router

__all__ = ["router"]
