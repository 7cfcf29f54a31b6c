"""Own record: what the shop had said, held against what became known later."""

from heelstamp.web.screens.own_record.routes import router

__all__ = ["router"]
