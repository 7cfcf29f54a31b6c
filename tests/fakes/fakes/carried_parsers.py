"""Parsers of what was carried in, or sent by a page: papers, copies, backups, exports, entries."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pikepdf

from fakes.every_kind import BODIES, acts_before, body_of
from fakes.sealed import chained
from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.archive import canonical_json, opening_of, read_json, seal
from heelstamp.archive.bag import MANIFEST as MANIFEST_OF_BAG
from heelstamp.archive.bag import TAG_MANIFEST
from heelstamp.archive.extracted import verify_extracted
from heelstamp.archive.issued import copy_of, verify_copy
from heelstamp.archive.opening import verify_opening, verify_spine
from heelstamp.casework.appraisal.consignment import read_day
from heelstamp.casework.dossier import open_dossier
from heelstamp.casework.finish.borders import border_file, polygon_in
from heelstamp.casework.finish.finding_file import unpacked
from heelstamp.casework.finish.request import read_masks, read_numbers
from heelstamp.casework.jack.request import read_quantity, read_range
from heelstamp.casework.setup.reading import read_plain
from heelstamp.casework.setup.set_text import read_action, read_set
from heelstamp.casework.uv_lamp.marks import SCHEMA as MARKS_SCHEMA
from heelstamp.casework.uv_lamp.marks import kept_marks, read_marks
from heelstamp.casework.uv_lamp.regions import drawn_polygon
from heelstamp.catalogue import Folding, parse_parts_tree
from heelstamp.catalogue.bodies.base import parse_time
from heelstamp.documents import decode_text, parse_document
from heelstamp.electrics.meter import read_meter
from heelstamp.errors import HeelstampError
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.string_tables import string_materials
from heelstamp.report.attached import attached_files
from heelstamp.shop import create_shop
from heelstamp.shop.backup import make_backup
from heelstamp.shop.backup_folder import MANIFEST, BackupFolder, Plain
from heelstamp.shop.bag import SIGNATURE
from heelstamp.shop.carrying_in import import_folder
from heelstamp.shop.carrying_out import export_dossiers
from heelstamp.shop.disk import Disk
from heelstamp.shop.settings import SHOP_FILE, read_settings
from heelstamp.units.months import parse_month
from heelstamp.valuation.money import Money, parse_rate
from heelstamp.web.guard import HOST, split_address

ROOT = Path(__file__).parents[2]
ATTACHED = b'{"completed": "1962-03"}'
POLYGON = [[10, 10], [60, 12], [40, 70]]
MASKS = {"outline": POLYGON, "parts": [{"name": "guard", "polygon": POLYGON}]}
DRAWN = MASKS | {"ruler": [10, 10, 60, 10, 25], "points": [[1, 2, 3, 4]] * 4}
_FOLDERS: list[TemporaryDirectory[str]] = []
"""Folders that parsers of folders work in; they go with the process."""


@dataclass(frozen=True)
class Parser:
    """A parser as bytes meet it, and whole inputs of it."""

    parse: Callable[[bytes], Any]
    seeds: Sequence[bytes]


def issue() -> dict[str, object]:
    """An issue of a paper with one attachment."""
    files = {"finding.json": hashlib.sha256(ATTACHED).hexdigest()}
    body = {"id": "p1", "reader": "buyer", "day": "2026-11-02", "files": files}
    fields = {"seq": 3, "at": AT, "by": BY, "kind": "issue", "body": body, "previous": "ab" * 32}
    return seal(fields, bytes(range(32)))


def paper() -> bytes:
    """A PDF of one empty page with a copy and the file that it names attached."""
    made = pikepdf.new()
    made.add_blank_page(page_size=(200, 200))
    for name, data in (("copy.json", copy_of(issue())), ("finding.json", ATTACHED)):
        made.attachments[name] = pikepdf.AttachedFileSpec(made, data, filename=name)
    buffer = io.BytesIO()
    made.save(buffer, deterministic_id=True)
    return buffer.getvalue()


def _paper(data: bytes) -> None:
    files = attached_files(data, "a.pdf")
    copy = files.pop("copy.json", b"")
    verify_copy(copy, files, head="ab" * 32)


def _host(data: bytes) -> None:
    text = data.decode("latin-1")
    HOST.fullmatch(text)
    came = split_address(text)
    assert came.netloc is not None
    assert came.scheme is not None


@cache
def _tree() -> Any:
    return load_parts_tree("guitar")


def _entries(data: bytes) -> None:
    """What the API takes: a list of kinds and bodies, folded as new entries are."""
    told = read_json(data, where="entries")
    folding = Folding(_tree())
    for number, one in enumerate(told if isinstance(told, list) else [], start=1):
        kind = one.get("kind") if isinstance(one, dict) else None
        if isinstance(kind, str):
            folding.enter(kind, one.get("body"), at=AT, by=BY, where=f"entry {number}")
    if told:
        assert folding.state.length


def entries_of_each_kind() -> list[bytes]:
    """For each kind a list of what opens a dossier, what the kind names, and one of the kind."""
    opening = {"kind": "instrument", "body": dict(INSTRUMENT)}
    lists = []
    for kind in BODIES:
        acts = [*acts_before(kind), (kind, body_of(kind, "x1"))]
        replacement = {key: one for key, one in acts[-1][1].items() if key != "id"}
        fixed = {"id": "c1", "corrects": "x1", "reason": "misread", "replacement": replacement}
        named = [{"kind": one, "body": body} for one, body in [*acts, ("correction", fixed)]]
        lists.append(json.dumps([opening, *named]).encode())
    return lists


def _each(*readers: Callable[[str], object]) -> Callable[[bytes], None]:
    """Read a text with each reader, whatever the others say; refused where all refuse."""

    def parse(data: bytes) -> None:
        text, refused = data.decode("utf-8", "surrogateescape"), []
        for reader in readers:
            try:
                reader(text)
            except HeelstampError as error:
                refused.append(error)
        if not all(map(str, refused)):
            raise AssertionError("a refusal without a word")
        if len(refused) == len(readers):
            raise refused[0]

    return parse


def _in_folder(name: str, read: Callable[[Path], object]) -> Callable[[bytes], None]:
    """Write what is read to a file *name* of a folder, and read the folder."""
    made = TemporaryDirectory()
    _FOLDERS.append(made)
    folder = Path(made.name)
    (folder / name).parent.mkdir(parents=True, exist_ok=True)

    def parse(data: bytes) -> None:
        (folder / name).write_bytes(data)
        read(folder)

    return parse


def _backup(folder: Path) -> BackupFolder:
    return BackupFolder(folder, Plain(), Disk())


def kept_backup() -> tuple[bytes, bytes]:
    """The manifest of a backup, and the settings of the shop it was made of."""
    with TemporaryDirectory() as scratch:
        shop, to = Path(scratch) / "shop", Path(scratch) / "backups"
        with create_shop(shop, name="Test shop", currency="USD") as made:
            open_dossier(made, INSTRUMENT, at=AT, by=BY)
        make_backup(shop, _backup(to))
        manifest = next(to.glob(f"*/{MANIFEST}")).read_bytes()
        return manifest, (shop / SHOP_FILE).read_bytes()


def _export() -> Parser:
    """An exported folder of which each file in turn is damaged, its digest then told anew."""
    made = TemporaryDirectory()
    _FOLDERS.append(made)
    place = Path(made.name)
    with create_shop(place / "shop", name="Test shop", currency="USD") as shop:
        open_dossier(shop, INSTRUMENT, at=AT, by=BY)
        shop.comparables.add("sallowby-wherry", [("s1", '{"p":1}')])
    export_dossiers(place / "shop", (), place / "out")
    create_shop(place / "other", name="Other", currency="USD").close()
    import_folder(place / "out", place / "other")
    whole = {
        one.relative_to(place / "out").as_posix(): one.read_bytes()
        for one in (place / "out").rglob("*")
        if one.is_file()
    }

    def told_anew(path: str, content: bytes) -> dict[str, bytes]:
        """The lists with the digest of what was changed, as a forger would give them."""
        changed = {path: content}
        for listed in (MANIFEST_OF_BAG, TAG_MANIFEST):
            lines = whole[listed]
            for one, data in changed.items():
                was, now = (hashlib.sha256(which).hexdigest() for which in (whole[one], data))
                lines = lines.replace(was.encode(), now.encode())
            changed.setdefault(listed, lines)
        return changed

    def parse(data: bytes) -> None:
        name, _, content = data.partition(b"\n\n")
        path = name.decode("latin-1")
        if path not in whole:
            return
        changed = told_anew(path, content)
        for one, told in changed.items():
            (place / "out" / one).write_bytes(told)
        if path != SIGNATURE:
            (place / "out" / SIGNATURE).unlink()
        try:
            import_folder(place / "out", place / "other")
        finally:
            for one in (*changed, SIGNATURE):
                (place / "out" / one).write_bytes(whole[one])

    return Parser(parse, [name.encode() + b"\n\n" + data for name, data in whole.items()])


TYPED: dict[str, Callable[[str], object]] = {
    "set": lambda text: read_set(text, string_materials()),
    "action": read_action,
    "numbers": lambda text: read_numbers(text, "x0,y0,x1,y1,MM", "a"),
    "quantity": lambda text: read_quantity(text, "µF", where="a"),
    "range": lambda text: read_range(text, where="a"),
    "plain": lambda text: read_plain(text, where="a"),
    "meter": read_meter,
    "month": parse_month,
    "time": parse_time,
    "day": lambda text: read_day(text, "a"),
    "sum": lambda text: [Money.parse(text, one) for one in ("USD", "JPY")],
    "rate": parse_rate,
}
"""Readers of what a person types into one field."""


def carried_parsers() -> dict[str, Parser]:
    """Parsers of what is carried in or sent, by name."""
    entries = chained([("instrument", dict(INSTRUMENT)), ("decision", body_of("decision", "d1"))])
    opening = opening_of(entries[1], ["/form", "/previous", "/body/decided"])
    first = opening_of(entries[0], ["/form", "/previous"])
    lines = b"".join(canonical_json(one) + b"\n" for one in entries)
    finding = io.BytesIO()
    manifest, settings = kept_backup()

    with zipfile.ZipFile(finding, "w") as archive:
        archive.writestr("finding.json", canonical_json({"verdict": "assessed", "regions": []}))
        archive.writestr("pair.jpg", b"\xff\xd8\xff")
    tree = next((ROOT / "src/heelstamp/reference/parts").glob("guitar*.toml")).read_bytes()
    marks = {"schema": MARKS_SCHEMA, "visible": "ab" * 32, "uv": "cd" * 32, **MASKS}
    border = border_file("o1", "ab" * 32, 1, [(float(x), float(y)) for x, y in POLYGON])
    return {
        "paper": Parser(_paper, [paper()]),
        "copy": Parser(
            lambda data: verify_copy(data, {"finding.json": ATTACHED}, head="ab" * 32),
            [copy_of(issue())],
        ),
        "opening": Parser(lambda data: verify_opening(data, head="ab" * 32), [opening]),
        "spine": Parser(
            lambda data: verify_spine(data.split(b"\n"), head=str(entries[1]["digest"])),
            [opening + b"\n" + first],
        ),
        "journal found": Parser(verify_extracted, [lines, canonical_json(entries)]),
        "entries": Parser(_entries, entries_of_each_kind()),
        "manifest": Parser(
            _in_folder(f"a/{MANIFEST}", lambda one: _backup(one).manifest("a")), [manifest]
        ),
        "settings": Parser(_in_folder(SHOP_FILE, read_settings), [settings]),
        "export": _export(),
        "finding file": Parser(lambda data: unpacked(data, where="a"), [finding.getvalue()]),
        "border file": Parser(lambda data: polygon_in(data, "a"), [border]),
        "border drawn": Parser(_each(drawn_polygon), [json.dumps(POLYGON).encode()]),
        "marks file": Parser(lambda data: kept_marks(data, "a"), [canonical_json(marks)]),
        "marks drawn": Parser(
            _each(lambda text: read_marks(text, size=(100, 100))), [json.dumps(DRAWN).encode()]
        ),
        "masks": Parser(lambda data: read_masks(data, "a.json"), [json.dumps(MASKS).encode()]),
        "parts": Parser(
            lambda data: parse_parts_tree(
                parse_document(decode_text(data, "a.toml"), "a.toml", "toml"), where="a.toml"
            ),
            [tree],
        ),
        "typed": Parser(
            _each(*TYPED.values()),
            [
                *(b".010 .013 .017 .026w .036w .046w", b"1.6/2.0", b"1,2,3,4,25.4", b"470pF"),
                *(b"6.3k-7.1k", b"-1.5", b"61.90 k\xce\xa9", b"1962-03", b"2026-11-02T09:14:00Z"),
                *(b"2026-11-02", b"9,100.50", b"22 %"),
            ],
        ),
        "host": Parser(_host, [b"127.0.0.1:8000", b"[::1]:8000", b"https://bench.local:8443"]),
    }
