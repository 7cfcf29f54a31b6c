"""Who is at this device, in which light, in which unit of length: choices kept in the browser."""

from heelstamp.web.screens.device.routes import router

__all__ = ["router"]
