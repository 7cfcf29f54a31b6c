"""Door: who hands it over, and may we open it? Custody, leave, climate, contents, receipt."""

from heelstamp.web.screens.intake.routes import router

__all__ = ["router"]
