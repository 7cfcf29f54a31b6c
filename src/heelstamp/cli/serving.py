"""``serve``: the bench in a browser."""

from __future__ import annotations

from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, Shop
from heelstamp.cli.output import say
from heelstamp.errors import ConflictError

DEFAULT_PORT = 8756


def serve(
    shop: Shop = HERE,
    port: Annotated[
        int, typer.Option(min=1, max=65535, help="Port on this machine.")
    ] = DEFAULT_PORT,
) -> int:
    """Open the bench on this machine; only browsers on it can reach it.

    Example: heelstamp serve --shop demo-shop
    """
    import socket

    import uvicorn

    from heelstamp.bootstrap import read_settings
    from heelstamp.web import create_app

    read_settings(shop)
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(("127.0.0.1", port))
    except OSError as error:
        listening.close()
        raise ConflictError(
            "the port is taken or not allowed",
            where=f"port {port}",
            received=error.strerror,
            remedy="Close what listens there, or give another with --port.",
        ) from error
    say(f"The bench is open at http://127.0.0.1:{port}/ (stop it with Ctrl-C).")
    server = uvicorn.Server(
        uvicorn.Config(create_app(shop), log_level="warning", server_header=False)
    )
    server.run(sockets=[listening])
    return Exit.DONE
