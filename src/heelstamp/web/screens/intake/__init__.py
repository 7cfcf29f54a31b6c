"""Intake: who hands it over, and may we open it? Custody, consent, climate, contents, receipt."""

from heelstamp.web.screens.intake.routes import router

__all__ = ["router"]
