"""Papers as PDF; the typesetter and all that draws is loaded when a report is first set."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from heelstamp.report.typst_report import render_report

__all__ = ["render_report"]


def __getattr__(name: str) -> Any:
    if name == "render_report":
        from heelstamp.report.typst_report import render_report  # noqa: PLC0415 - see above

        return render_report
    raise AttributeError(name)
