"""What a person reads says things in the words of the trade, not in those that the program left.

Read are every page that links lead to from the Rack, what the buyer's, insurer's and shop's copies
hold, and the help of every command. Common practice of the trade, no source.
"""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from urllib.parse import urldefrag, urljoin, urlsplit

import click
import pytest
import typer
from starlette.testclient import TestClient

from fakes.web_shop import bench_of
from heelstamp.casework.feature_names import heading
from heelstamp.casework.papers.document import texts
from heelstamp.casework.replay import replay
from heelstamp.cli.app import app
from heelstamp.reference.demonstration import demo_journal, demo_photographs, demo_recordings
from heelstamp.shop import create_shop
from heelstamp.shop.demonstration import keep_demo_census
from heelstamp.shop.reports import document_at
from heelstamp.wording.about_record import UNREAD

TAG = "W-0001"
GONE = {
    "a screen's former name": r"\b(?:Door|Frames|Peel|Tray(?! with)|Touch|Tune|Weigh-up|Papers)\b"
    r"|\b(?:Counter|Chronologies)\b|^(?:Words|Lamp|Return)$",
    "a part": r"(?<!-)\b(?:guards?|boards?|(?<!primer )(?<!pocket )coats?|sockets?)\b"
    r"|\b(?:the|lift|refit|turn|a) (?:head|rod)\b",
    "what was learned": r"\b(?:knots?|lags?|foretold|foretell)\b",
    "what nobody looked at": r"\bnot looked\b(?! at)",
    "the owner's consent": r"\b(?:gave|give|ask|asked|without|owner.s) leave\b|\bto leave alone\b",
    "custody": r"\bMissed\b",
    "what a device does": r"\b[Ss]econd hand\b|\bHold to talk\b|\b[Pp]ut away\b|\bSign so\b",
    "a journal": r"\bHead of the journal\b|--head\b",
}
_SAID = ("aria-label", "alt", "title", "placeholder", "data-words")
_NOT_SAID = ("script", "style", "code", "pre", "textarea")


def _notes(body: dict[str, object]) -> Iterator[str]:
    for key, value in body.items():
        for one in texts(value) if key not in ("act", "slot", "kind") else ():
            if " " in one:
                text = " ".join(one.split()).rstrip(".")
                yield from (text, heading(text))


_BY_HAND = sorted({one for row in demo_journal() for one in _notes(row["body"])}, key=len)[::-1]
"""Texts of several words in the demonstration's entries: they stay as a hand wrote them."""


class _Reading(HTMLParser):
    """The texts of a page, and where its links lead."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.links: list[str] = []
        self._shut = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self._shut += tag in _NOT_SAID
        self.texts += [told[name] or "" for name in _SAID if name in told]
        if tag == "a" and told.get("href"):
            self.links.append(told["href"] or "")

    def handle_endtag(self, tag: str) -> None:
        self._shut -= tag in _NOT_SAID

    def handle_data(self, data: str) -> None:
        if not self._shut:
            self.texts.append(data)


def gone_words(texts_: list[str]) -> list[str]:
    """Each word that is gone, with the text around it."""
    found = []
    for one in texts_:
        text = " ".join(one.split())
        for written in _BY_HAND:
            text = text.replace(written, "")
        found += [
            f"{what}: {text[max(0, hit.start() - 50) : hit.end() + 50]}"
            for what, pattern in GONE.items()
            for hit in re.finditer(pattern, text)
        ]
    return found


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder = tmp_path_factory.mktemp("words") / "shop"
    with create_shop(folder, name="Test shop", currency="USD") as opened:
        replay(opened, TAG, demo_journal(), demo_photographs() | demo_recordings())
    with bench_of(folder) as made:
        keep_demo_census(made.app.state.shop)  # type: ignore[attr-defined]
        yield made


def test_the_search_finds_what_is_gone() -> None:
    assert len(gone_words(["lift guard", "Weigh-up", "Papers", "not looked", "Hold to talk"])) == 5
    assert gone_words(["pickguard", "fingerboard", "not looked at", "dashboard", "truss rod"]) == []


def test_every_page_speaks_in_the_words_of_the_trade(bench: TestClient) -> None:
    waiting, seen, found = ["/", "/new", "/terms", "/makers", f"/dossier/{TAG}"], set[str](), {}
    while waiting:
        address = waiting.pop()
        pattern = re.sub(r"=[^&]*|(?<=/photographs/)\w+|(?<=/feature/)\w+", "=", address)
        if pattern in seen:
            continue
        seen.add(pattern)
        with bench.stream("GET", address) as answer:
            if not answer.headers.get("content-type", "").startswith("text/html"):
                continue
            page = answer.read().decode()
        assert answer.status_code == 200, address
        reading = _Reading()
        reading.feed(page)
        if words := gone_words(reading.texts):
            found[address] = words
        for link in reading.links:
            to, _ = urldefrag(urljoin(str(answer.url), link))
            if urlsplit(to).netloc == urlsplit(str(answer.url)).netloc:
                waiting.append(to.removeprefix(f"http://{urlsplit(to).netloc}"))
    assert len(seen) > 25, seen
    assert not found, json.dumps(found, indent=1)


@pytest.mark.parametrize("reader", ["buyer", "insurer", "shop"])
def test_every_copy_speaks_in_the_words_of_the_trade(bench: TestClient, reader: str) -> None:
    document = document_at(bench.app.state.shop, TAG, reader)  # type: ignore[attr-defined]
    said = [one for one in texts(document) if " " in one and one not in UNREAD]  # others are ids
    assert gone_words(said) == []


def _helps(command: click.Command, path: str) -> Iterator[tuple[str, str]]:
    context = click.Context(command, info_name=path)
    yield path, command.get_help(context)
    if isinstance(command, click.Group):
        for name, one in command.commands.items():
            yield from _helps(one, f"{path} {name}")


def test_every_help_speaks_in_the_words_of_the_trade() -> None:
    helps = dict(_helps(typer.main.get_command(app), "heelstamp"))
    assert len(helps) > 20
    assert {path: words for path, text in helps.items() if (words := gone_words([text]))} == {}
