"""What an owner sees who opened a link: ten pictures to send, some questions, and nothing else."""

from heelstamp.web.screens.owner_sends.routes import router

__all__ = ["router"]
