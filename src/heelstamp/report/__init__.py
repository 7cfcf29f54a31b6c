"""Papers typeset: the examination report as an archival, accessible PDF with its data inside."""

from heelstamp.report.typst_report import render_report

__all__ = ["render_report"]
