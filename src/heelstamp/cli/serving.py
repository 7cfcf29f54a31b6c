"""``serve``: the bench in a browser, on this machine alone or on the shop's network."""

from __future__ import annotations

import os
import socket
import sys
import threading
from pathlib import Path
from typing import Annotated, Any

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, Shop
from heelstamp.cli.output import heading, say
from heelstamp.errors import ConflictError, InputError

DEFAULT_PORT = 8756
OWN_SHOP = "heelstamp-shop"
LOOPBACK_ADDRESS = "127.0.0.1"


def serve(
    shop: Shop = HERE,
    port: Annotated[
        int, typer.Option(min=1, max=65535, help="Port on this machine.")
    ] = DEFAULT_PORT,
    share: Annotated[
        bool, typer.Option("--share", help="Let the shop's network in, with accounts.")
    ] = False,
    host: Annotated[
        str, typer.Option(help="With --share: address to listen on; else this machine's own.")
    ] = "",
    name: Annotated[
        list[str] | None, typer.Option(help="With --share: a name by which it may be called.")
    ] = None,
    certificate: Annotated[
        Path | None,
        typer.Option(help="With --share: certificate (PEM) in the place of the shop's own."),
    ] = None,
    key: Annotated[Path | None, typer.Option(help="With --share: its key (PEM).")] = None,
    only_encrypted: Annotated[
        bool,
        typer.Option(
            "--only-encrypted",
            help="With --certificate of an authority that browsers know: for a year they open this "
            "name encrypted alone (HSTS), and no warning can be clicked away.",
        ),
    ] = False,
    unencrypted: Annotated[
        bool, typer.Option("--unencrypted", help="With --share: go without; passwords can be read.")
    ] = False,
    proxy: Annotated[
        str,
        typer.Option(
            help="With --share: address or network of the proxy that encrypts before it, and is "
            "believed when it says who asks; --name tells the name that it is called by."
        ),
    ] = "",
    metrics: Annotated[
        int, typer.Option(min=0, max=65535, help="With --share: port for metrics (Prometheus).")
    ] = 0,
    log: Annotated[
        bool, typer.Option("--log", help="With --share: a line of JSON for each request.")
    ] = False,
    browser: Annotated[
        bool, typer.Option("--browser", help="Open it in this machine's browser, too.")
    ] = False,
) -> int:
    """Open the bench on this machine; only browsers on it can reach it, unless it is shared.

    Example: heelstamp serve --shop demo-shop
    """
    if share and browser:
        raise InputError(
            "a shared bench is opened by its address",
            where="serve --share",
            remedy="Leave --browser out.",
        )
    if share:
        return _shared(
            shop,
            port,
            host,
            name or [],
            certificate,
            key,
            unencrypted=unencrypted,
            only_encrypted=only_encrypted,
            proxy=proxy,
            metrics=metrics,
            log=log,
        )
    if (
        proxy
        or metrics
        or log
        or host
        or name
        or certificate
        or key
        or unencrypted
        or only_encrypted
    ):
        raise InputError(
            "this belongs to sharing",
            where="serve",
            remedy="Give --share with it, or leave it out.",
        )
    return _alone(shop, port, browser=browser)


def open_bench() -> int:
    """Open the bench in this machine's browser: of the shop that is meant where nothing is said.

    That is the one in ``HEELSTAMP_SHOP``, in the folder the command is typed in, or in the user's
    own folder `OWN_SHOP`; where the usual port is taken, on a free one.
    """
    from heelstamp.shop import is_shop

    named = os.environ.get("HEELSTAMP_SHOP", "")
    shop = Path(named) if named else HERE if is_shop(HERE) else Path.home() / OWN_SHOP
    with socket.socket() as probe:
        taken = probe.connect_ex((LOOPBACK_ADDRESS, DEFAULT_PORT)) == 0
    return _alone(shop, 0 if taken else DEFAULT_PORT, browser=True)


def _alone(shop: Path, port: int, *, browser: bool) -> int:
    """Open the bench to browsers on this machine."""
    from heelstamp.shop import is_free, read_settings
    from heelstamp.web import create_app
    from heelstamp.web.first_run import Threshold

    new = is_free(shop)
    if not new:
        read_settings(shop)
    with _listening(LOOPBACK_ADDRESS, port) as listening:
        address = f"http://{LOOPBACK_ADDRESS}:{listening.getsockname()[1]}/"
        if new:
            say(f"There is no shop in {shop.absolute()} yet: the first page asks for it.")
        say(f"The bench is open at {address} (stop it with Ctrl-C).")
        app = Threshold(shop) if new else create_app(shop)
        _run(app, listening, shown=address if browser else "")
    return Exit.DONE


def _shared(
    shop: Path,
    port: int,
    host: str,
    names: list[str],
    certificate: Path | None,
    key: Path | None,
    *,
    unencrypted: bool,
    only_encrypted: bool,
    proxy: str = "",
    metrics: int = 0,
    log: bool = False,
) -> int:
    from heelstamp.shop.certificate import own_certificate
    from heelstamp.shop.network import fingerprint_of, own_address, shared_names
    from heelstamp.shop.sharing import clock, open_accounts, require_owner
    from heelstamp.web import create_app
    from heelstamp.web.gate import Shared

    given = certificate is not None and key is not None
    if (certificate is None) != (key is None) or (given and unencrypted):
        raise InputError(
            "a certificate goes with its key, and encryption",
            where="serve --share",
            remedy="Give --certificate with --key, or neither: the shop then makes its own.",
        )

    if proxy:
        _refuse_beside_proxy(proxy, names, given=given, unencrypted=unencrypted)
    if only_encrypted and not (given or proxy):
        raise InputError(
            "only a certificate of an authority that browsers know binds them for a year",
            where="serve --share",
            remedy="Give --certificate with --key, or leave --only-encrypted out.",
        )
    secure = not unencrypted  # behind a proxy it is the proxy that encrypts
    accounts = open_accounts(shop)
    try:
        require_owner(accounts)
    finally:
        accounts.close()
    told: dict[str, Any] = {}
    print_of, authority = "", b""
    address = host or own_address()
    called = shared_names(address, names)
    if secure and not given and not proxy:
        own = own_certificate(shop, called, clock())
        certificate, key, authority = own.certificate, own.key, own.authority
        print_of = own.fingerprint
    if certificate is not None and key is not None:
        print_of = print_of or fingerprint_of(certificate, key)
        told = {"ssl_certfile": str(certificate), "ssl_keyfile": str(key)}
    shown = f"[{called[0]}]" if ":" in called[0] else called[0]
    url = f"{'https' if secure else 'http'}://{shown}:{port}"
    if proxy:
        called, url = tuple(names), f"https://{names[0]}"
        told = {"proxy_headers": True, "forwarded_allow_ips": proxy}
    registry = _metrics(metrics, address) if metrics else None
    with _listening(address, port) as listening:
        say(f"The bench is open to the network at {url}/ (stop it with Ctrl-C).")
        _tell_how(url, proxy, authority, print_of, secure=secure)
        _run(
            create_app(
                shop,
                hosts=called,
                shared=Shared(url, secure, authority, only_encrypted),
                metrics=registry,
                log=log,
            ),
            listening,
            **told,
        )
    return Exit.DONE


def _tell_how(url: str, proxy: str, authority: bytes, print_of: str, *, secure: bool) -> None:
    """Say what a device does once before it opens the bench, and what is not protected."""
    from heelstamp.report.address_code import address_code_text

    if authority:
        trust = f"{url}/trust"
        heading(f"SHA-256 of the shop's own authority\n{print_of}")
        say(
            f"Once on each device: open {trust}, go on in spite of the warning, install the "
            "authority, and compare these figures with those that the device shows. Then "
            "camera, microphone and work without a connection are there."
        )
        say(address_code_text(trust))
    elif proxy:
        say(f"Not encrypted here: the proxy at {proxy} does that, and says who asks.")
    elif secure:
        heading(f"SHA-256 of its certificate\n{print_of}")
        say(
            "A certificate that no authority signed is warned of: compare these figures once. "
            "Work without a connection needs it installed as trusted on the device."
        )
    else:
        say(
            "Not encrypted: whoever is on this network can read passwords and sessions. "
            "Browsers give camera, microphone and work without a connection to encrypted "
            "addresses only, so other devices do without them."
        )


def _refuse_beside_proxy(proxy: str, names: list[str], *, given: bool, unencrypted: bool) -> None:
    from ipaddress import ip_network

    try:
        wide = ip_network(proxy).prefixlen < 8
    except ValueError:
        wide = True
    if wide:
        raise InputError(
            "not the address of a proxy",
            where="--proxy",
            received=proxy,
            remedy="Give an address or a network, as 10.30.0.2 or 10.30.0.0/24; whoever is there "
            "is believed.",
        )
    if not names or given or unencrypted:
        raise InputError(
            "behind a proxy the bench has the proxy's name and no certificate",
            where="serve --share --proxy",
            remedy="Give --name, and leave --certificate, --key and --unencrypted out.",
        )


def _metrics(port: int, address: str) -> Any:
    """Serve metrics on a port of their own."""
    from heelstamp.web.watching import new_registry

    registry = new_registry()
    from prometheus_client import start_http_server

    try:
        start_http_server(port, addr=address, registry=registry)
    except OSError as error:
        raise ConflictError(
            "the port for metrics is taken or not allowed",
            where=f"{address}, port {port}",
            received=error.strerror,
            remedy="Give another with --metrics.",
        ) from error
    return registry


def _listening(address: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    if sys.platform != "win32":  # there it would let another program take the port over
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
    except OSError as error:
        listening.close()
        raise ConflictError(
            "the port is taken or not allowed, or the address is not this machine's",
            where=f"{address}, port {port}",
            received=error.strerror,
            remedy="Close what listens there, or give another with --port or --host.",
        ) from error
    return listening


def _run(app: Any, listening: socket.socket, shown: str = "", **told: Any) -> None:
    """Answer until told to stop; *shown* is opened in the browser once it can be answered."""
    import uvicorn

    settings = {"log_level": "warning", "server_header": False, "proxy_headers": False, **told}
    config = uvicorn.Config(app, **settings)
    listening.listen(config.backlog)  # from here on a browser waits for its answer
    if shown:
        import webbrowser

        threading.Thread(target=webbrowser.open, args=(shown,), daemon=True).start()
    uvicorn.Server(config).run(sockets=[listening])
