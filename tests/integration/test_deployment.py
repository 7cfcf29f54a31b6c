"""The compose file says what it is to say, and every command in it is one that there is.

It is parsed and held against the program and its own files; no container is started here.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import click
import pytest
import typer
import yaml

from heelstamp.cli.app import app

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "deploy"


@pytest.fixture(scope="module")
def compose() -> dict[str, Any]:
    told: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text("utf-8"))
    return told


def own(compose: dict[str, Any]) -> dict[str, Any]:
    return {key: one for key, one in compose["services"].items() if "build" in one}


def test_it_has_what_a_shop_of_several_machines_needs(compose: dict[str, Any]) -> None:
    services = compose["services"]
    assert set(services) == {"proxy", "bench-1", "bench-2", "worker", "database", "objects"}
    assert services["worker"]["deploy"]["replicas"] >= 2
    assert [name for name, one in services.items() if "ports" in one] == ["proxy"]
    for name, one in services.items():
        assert one["restart"] == "unless-stopped", name
        assert re.fullmatch(r"[a-z0-9/._-]+:[0-9]+(\.[0-9]+)+", one["image"]), name
        assert set(one.get("secrets", ())) <= set(compose["secrets"]), name
        for volume in one.get("volumes", ()):
            source = volume.partition(":")[0]
            assert source in compose["volumes"] or (DEPLOY / source).is_file(), volume
        assert set(one["networks"]) <= set(compose["networks"]), name


def test_no_secret_is_in_it(compose: dict[str, Any]) -> None:
    text = (DEPLOY / "compose.yaml").read_text("utf-8")
    assert not re.search(r"(?i)(password|secret_access_key)\s*[:=]\s*[^/\s{]", text)
    ignored = (DEPLOY / "secrets" / ".gitignore").read_text("utf-8").split()
    assert ignored[0] == "*"
    for one in compose["secrets"].values():
        assert Path(one["file"]).name in (DEPLOY / "secrets" / "README.md").read_text("utf-8")


def test_every_command_is_one_of_the_program(compose: dict[str, Any]) -> None:
    commands = typer.main.get_command(app)
    assert isinstance(commands, click.Group)
    for name, one in own(compose).items():
        first, *rest = one["command"]
        command = commands.commands[first]
        context = command.make_context(first, list(rest))  # refuses what is no option
        assert str(context.params["shop"]) == "/shop", name
        if first == "serve":
            address = compose["services"]["proxy"]["networks"]["backend"]["ipv4_address"]
            assert context.params["proxy"] == address
            (called,) = context.params["name"]
            for file in ("Caddyfile", "health.py"):
                assert called in (DEPLOY / file).read_text("utf-8")


def test_the_proxy_reaches_each_server(compose: dict[str, Any]) -> None:
    told = (DEPLOY / "Caddyfile").read_text("utf-8")
    (line,) = re.findall(r"reverse_proxy ([^{]+)", told)
    benches = {one.partition(":")[0] for one in line.split()}
    assert benches == {name for name in compose["services"] if name.startswith("bench")}
    assert "flush_interval -1" in told  # news of dossiers are streams
    assert "health_uri /health" in told


def test_the_image_is_made_from_the_lock_and_from_what_is_here() -> None:
    told = (DEPLOY / "Dockerfile").read_text("utf-8")
    assert re.search(r"^FROM python:\d+\.\d+\.\d+-slim-\w+$", told, re.MULTILINE)
    for line in re.findall(r"^COPY (.+)$", told, re.MULTILINE):
        for source in line.split()[:-1]:
            assert (ROOT / source).exists(), source
    assert "--require-hashes -r requirements/server.txt" in told
    assert re.search(r"^USER (?!root)", told, re.MULTILINE)


def test_the_page_of_operations_names_what_there_is(compose: dict[str, Any]) -> None:
    page = (ROOT / "docs" / "operations.md").read_text("utf-8")
    for service in compose["services"]:
        assert f"`{service}`" in page, service
    commands = typer.main.get_command(app)
    assert isinstance(commands, click.Group)
    for command in set(re.findall(r"heelstamp ([a-z-]+)", page)):
        assert command in commands.commands, command
