"""Findings: when it was completed, what each mark says by itself, and what the parts come to."""

from heelstamp.web.screens.findings.routes import router

__all__ = ["router"]
