"""``account`` and ``serve --share``: passwords never in a command, and nothing open by accident."""

from __future__ import annotations

import hashlib
import io
import json
import re
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from heelstamp.cli.app import main
from heelstamp.errors import InputError
from heelstamp.shop import create_shop
from heelstamp.shop.network import fingerprint_of, own_address, shared_names

FIRST, SECOND = "seven herons stand quietly", "a kettle under the stairs"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    create_shop(folder, name="Own", currency="USD").close()
    return folder


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate and its key that nobody signed, made as the command advises."""
    folder = tmp_path_factory.mktemp("papers")
    certificate, key = folder / "bench.crt", folder / "bench.key"
    subprocess.run(
        [
            "openssl",
            "req",
            "-x509",
            "-newkey",
            "rsa:3072",
            "-nodes",
            "-days",
            "825",
            "-keyout",
            str(key),
            "-out",
            str(certificate),
            "-subj",
            "/CN=bench",
            "-addext",
            "subjectAltName=IP:127.0.0.1",
        ],
        check=True,
        capture_output=True,
    )
    return certificate, key


class Done(NamedTuple):
    """What a command said and how it ended."""

    returncode: int
    stdout: str
    stderr: str


Run = Callable[..., Done]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command in this process, with what is typed on its standard input."""

    def once(*told: str, typed: str = "") -> Done:
        monkeypatch.setattr(sys, "argv", ["heelstamp", *told])
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return Done(int(ended.value.code or 0), said.out, said.err)

    return once


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port


def test_an_account_from_its_first_password_to_its_end(shop: Path, run: Run) -> None:
    at = ("--shop", str(shop))
    assert "none yet" in run("account", "list", *at).stdout
    made = run("account", "add", "examiner A", "--role", "owner", *at, "--json", typed=f"{FIRST}\n")
    assert made.returncode == 0, made.stderr
    assert json.loads(made.stdout) == {"name": "examiner A", "role": "owner"}
    assert FIRST not in made.stdout + made.stderr
    again = run("account", "add", "examiner A", *at, typed=f"{FIRST}\n")
    assert again.returncode == 2
    assert "already" in again.stderr
    short = run("account", "password", "examiner A", *at, typed="short\n")
    assert short.returncode == 2
    assert "12 to 200 characters" in short.stderr
    empty = run("account", "password", "examiner A", *at)
    assert "no password came" in empty.stderr
    assert run("account", "password", "examiner A", *at, typed=SECOND).returncode == 0
    last = run("account", "remove", "examiner A", *at)
    assert last.returncode == 2
    assert "last owner" in last.stderr
    listed = json.loads(run("account", "list", *at, "--json").stdout)
    assert [(one["name"], one["role"], one["devices"]) for one in listed] == [
        ("examiner A", "owner", 0)
    ]


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (("--share",), "sharing needs an owner's account first"),
        (("--share", "--certificate", "a.crt"), "a certificate goes with its key"),
        (("--share", "--unencrypted"), "sharing needs an owner's account first"),
        (("--unencrypted",), "belongs to sharing"),
        (("--host", "0.0.0.0"), "belongs to sharing"),
    ],
)
def test_nothing_is_shared_by_accident(
    shop: Path, run: Run, told: tuple[str, ...], said: str
) -> None:
    done = run("serve", "--shop", str(shop), *told)
    assert done.returncode == 2
    assert said in done.stderr


@pytest.fixture
def shared(shop: Path, run: Run, papers: tuple[Path, Path]) -> Iterator[tuple[int, str]]:
    """A bench that is served with encryption; its port, and what was printed."""
    add = run("account", "add", "examiner A", "--role", "owner", "--shop", str(shop), typed=FIRST)
    assert add.returncode == 0, add.stderr
    port = free_port()
    command = [
        sys.executable,
        "-u",
        "-m",
        "heelstamp",
        "serve",
        "--share",
        "--host",
        "127.0.0.1",
        "--port",
        str(port),
        "--shop",
        str(shop),
        "--certificate",
        str(papers[0]),
        "--key",
        str(papers[1]),
    ]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as one:
        try:
            assert one.stdout is not None
            said = "".join(one.stdout.readline() for _ in range(5))
            yield port, said
        finally:
            one.terminate()
            one.communicate(timeout=20)


def test_a_shared_bench_speaks_tls_and_prints_the_figures_browsers_show(
    shared: tuple[int, str], papers: tuple[Path, Path]
) -> None:
    port, said = shared
    assert f"https://127.0.0.1:{port}/" in said
    assert fingerprint_of(*papers) in said
    trusting = ssl.create_default_context(cafile=str(papers[0]))
    trusting.verify_flags &= ~getattr(ssl, "VERIFY_X509_STRICT", 0)
    url = f"https://127.0.0.1:{port}/sign-in"
    for _ in range(100):
        try:
            with urllib.request.urlopen(url, context=trusting, timeout=5) as answer:
                page = answer.read().decode()
            break
        except urllib.error.URLError:
            time.sleep(0.1)  # it is not up yet
    assert "Who is at this device?" in page
    assert "not encrypted" not in page
    asked = urllib.request.Request(f"https://127.0.0.1:{port}/api/dossiers")
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(asked, context=trusting, timeout=5)
    assert refused.value.code == 401
    refused.value.close()


def test_a_bench_without_a_given_certificate_is_served_with_its_own(shop: Path, run: Run) -> None:
    add = run("account", "add", "examiner A", "--role", "owner", "--shop", str(shop), typed=FIRST)
    assert add.returncode == 0, add.stderr
    port = free_port()
    command = [sys.executable, "-u", "-m", "heelstamp", "serve", "--share", "--host", "127.0.0.1"]
    with subprocess.Popen(
        [*command, "--port", str(port), "--shop", str(shop)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as one:
        try:
            assert one.stdout is not None
            said = "".join(one.stdout.readline() for _ in range(12))
            pem = (shop / "certificate" / "authority.crt").read_text("ascii")
            figures = hashlib.sha256(ssl.PEM_cert_to_DER_cert(pem)).hexdigest().upper()
            assert figures in said.replace(":", "").replace("\n", "")
            trusting = ssl.create_default_context(cadata=pem)
            url = f"https://127.0.0.1:{port}/trust"
            for _ in range(100):
                try:
                    with urllib.request.urlopen(url, context=trusting, timeout=5) as answer:
                        page = answer.read().decode()
                    break
                except urllib.error.URLError:
                    time.sleep(0.1)  # it is not up yet
            assert figures in page.replace(":", "")
            taken = f"{url}/authority.crt"
            with urllib.request.urlopen(taken, context=trusting, timeout=5) as answer:
                assert answer.read() == ssl.PEM_cert_to_DER_cert(pem)
        finally:
            one.terminate()
            one.communicate(timeout=20)


def test_the_figures_are_the_ones_openssl_gives(papers: tuple[Path, Path]) -> None:
    told = subprocess.run(
        ["openssl", "x509", "-noout", "-fingerprint", "-sha256", "-in", str(papers[0])],
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    assert told.strip().partition("=")[2] == fingerprint_of(*papers)
    assert re.fullmatch(r"([0-9A-F]{2}:){31}[0-9A-F]{2}", fingerprint_of(*papers))


def test_papers_that_do_not_belong_together_are_refused(
    papers: tuple[Path, Path], tmp_path: Path
) -> None:
    other = tmp_path / "other.key"
    subprocess.run(
        ["openssl", "genrsa", "-out", str(other), "2048"], check=True, capture_output=True
    )
    empty = tmp_path / "empty.crt"
    empty.write_bytes(b"\xff\xfe")
    for pair in (
        (papers[0], other),
        (empty, papers[1]),
        (papers[1], papers[0]),
        (tmp_path / "none", papers[1]),
    ):
        with pytest.raises(InputError, match="cannot be used together"):
            fingerprint_of(*pair)


def test_the_names_that_a_shared_bench_answers_to() -> None:
    assert shared_names("192.0.2.20", []) == ("192.0.2.20",)
    assert shared_names("192.0.2.20", ["Bench.Local."]) == ("bench.local", "192.0.2.20")
    assert shared_names("2001:db8::1", []) == ("2001:db8::1",)
    assert {"localhost", "127.0.0.1", own_address()} <= set(shared_names("0.0.0.0", []))
    for address, names in (
        ("bench", []),
        ("192.0.2.20:80", []),
        ("", []),
        ("192.0.2.20", ["a/b"]),
        ("192.0.2.20", ["a b"]),
        ("192.0.2.20", [""]),
    ):
        with pytest.raises(InputError):
            shared_names(address, names)
