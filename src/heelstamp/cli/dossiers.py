"""``new``, ``add`` and ``show``: opening a dossier, entering, looking."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heelstamp.casework.new_entry import NewEntry
from heelstamp.cli.exits import Exit
from heelstamp.cli.odd_parts import show_odd
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import complain, emit, heading, say, table
from heelstamp.cli.panel import show_panel
from heelstamp.cli.photos import show_lamp, show_photos
from heelstamp.errors import ConflictError, HeelstampError, InputError

if TYPE_CHECKING:
    from heelstamp.casework.photo_care import PhotoCare
    from heelstamp.catalogue import DossierState, Entry, PartsTree
    from heelstamp.shop.opened import OpenShop

FILE_KINDS = ("photograph", "recording")


def new(
    tag: Annotated[str | None, typer.Argument(help="Tag of the dossier, as H-0001.")] = None,
    shop: Shop = HERE,
    name: Annotated[str, typer.Option(help="Name of the shop, when it is made.")] = "Shop",
    currency: Annotated[str, typer.Option(help="ISO 4217 code, when the shop is made.")] = "USD",
    database: Annotated[
        str,
        typer.Option(
            help="Address of an empty PostgreSQL database, when the shop is made; else a file."
        ),
    ] = "",
    kind: Annotated[str, typer.Option(help="Kind of instrument.")] = "guitar",
    maker: Annotated[str, typer.Option(help="Maker, as presented.")] = "",
    model: Annotated[str, typer.Option(help="Model, as presented.")] = "",
    chronology: Annotated[str, typer.Option(help="Chronology to ask.")] = "",
    claimed: Annotated[str | None, typer.Option(help="What the owner claims.")] = None,
    by: By = EXAMINER,
    as_json: AsJson = False,
) -> int:
    """Open a dossier; make the shop first where the folder is none.

    Example: heelstamp new H-0001 --shop shop --maker "Sallowby Instrument Works" --model Wherry
    --chronology sallowby-wherry
    """
    from heelstamp.casework.at_entry import refuse_other_kind
    from heelstamp.shop import create_shop, is_shop, now, open_shop
    from heelstamp.shop.subjects import chronology_for

    body: dict[str, Any] = {}
    if tag is None and (maker or model or chronology):
        raise InputError(
            "a dossier needs a tag", where="new", received="no TAG", remedy="Give one, as H-0001."
        )
    if tag is not None:
        given = {"maker": maker, "model": model, "chronology": chronology}
        missing = [key for key, value in given.items() if not value]
        if missing:
            raise InputError(
                "a dossier needs to know its instrument",
                where="new",
                received=f"no --{missing[0]}",
                remedy=f"Give --{missing[0]}.",
            )
        # refuse an unknown one, or one of another kind, before anything is made
        refuse_other_kind(kind, chronology_for(chronology, shop))
        body = {"kind": kind, **given, "tag": tag}
        if claimed is not None:
            body["claimed"] = claimed
    made = not is_shop(shop)
    if database and not made:
        raise ConflictError(
            "this folder is a shop already",
            where="new --database",
            received=str(shop),
            remedy="Say heelstamp move --to ADDRESS to bring it to another database.",
        )
    opened = (
        create_shop(shop, name=name, currency=currency, database=database)
        if made
        else open_shop(shop)
    )
    with opened:
        if tag is not None:
            from heelstamp.casework.dossier import open_with

            open_with(opened, [NewEntry("instrument", body)], at=now(), by=by)
    if as_json:
        emit({"shop": str(shop), "made": made, "tag": tag})
    else:
        if made:
            say(f"Shop made in {shop}.")
        if tag is not None:
            say(f"Dossier {tag} opened: {maker} {model}.")
    return Exit.DONE


def add(
    tag: Annotated[str, typer.Argument(help="Tag of the dossier.")],
    kind: Annotated[
        str | None, typer.Argument(help="Kind of entry: observation, measurement, photograph, …")
    ] = None,
    fields: Annotated[
        list[str] | None, typer.Argument(help="Fields as key=value; value may be JSON.")
    ] = None,
    file: Annotated[Path | None, typer.Option(help="File of a photograph or recording.")] = None,
    entries: Annotated[
        Path | None, typer.Option("--from", help="Examination file whose entries to add.")
    ] = None,
    grey_row: Annotated[
        str | None,
        typer.Option("--grey-row", help="Grey patches in the photograph: x0,y0,x1,y1,PATCHES."),
    ] = None,
    shop: Shop = HERE,
    by: By = EXAMINER,
    as_json: AsJson = False,
) -> int:
    """Add entries to a dossier; nothing is ever overwritten.

    Example: heelstamp add H-0001 observation part=neck kind=mark status=read 'text=65/03 R'
    """
    from heelstamp.shop.opened import OpenShop

    if entries is not None and (kind is not None or file is not None):
        raise InputError(
            "entries come from a file or from the command, not both",
            where="add",
            received="--from beside KIND, FIELDS or --file",
            remedy="Leave one of the two out.",
        )
    if entries is None and kind is None:
        raise InputError(
            "nothing to add", where="add", remedy="Give a kind and fields, or --from FILE."
        )
    if grey_row is not None and (kind != "photograph" or file is None):
        raise InputError(
            "only a photograph has a grey row", where="--grey-row", remedy="Leave it out."
        )
    care = None
    with OpenShop(shop) as opened:
        if entries is not None or kind is None:
            assert entries is not None
            added = opened.enter(tag, _entries_of(entries, opened), by=by)
        else:
            kind, body = _typed(kind, _body(opened, tag, kind, fields or []))
            if kind in FILE_KINDS:
                added, care = _attached(opened, tag, kind, file, body, grey_row, by)
            else:
                added = opened.enter(tag, [NewEntry(kind, body)], by=by)
        notes = _not_counted(opened, tag, added)
    _warn(added, notes)
    if as_json:
        told = {} if care is None else {"care": care.data()}
        emit([{"seq": one.seq, "kind": one.kind, "digest": one.digest, **told} for one in added])
    else:
        for one in added:
            say(f"{tag}, entry {one.seq}: {one.kind} {one.body.get('id', '')}".rstrip())
        if care is not None:
            say(care.line, "  ")
    return Exit.DONE


def _not_counted(opened: OpenShop, tag: str, added: Sequence[Entry]) -> dict[str, str]:
    """Why marks and numbers just added do not date."""
    from heelstamp.casework.at_entry import not_counted
    from heelstamp.reference.tables import mark_context

    ids = [str(one.body.get("id")) for one in added if one.kind == "observation"]
    ids += [str(one.body.get("corrects")) for one in added if one.kind == "correction"]
    if not ids:
        return {}
    try:
        subject = opened.subject(tag)
        return not_counted(subject.state, ids, subject.chronology, mark_context())
    except HeelstampError:
        return {}  # said where the date is asked for


def _warn(added: Sequence[Entry], not_counted: Mapping[str, str]) -> None:
    """Say at once what no paper will carry, and what does not date."""
    for one in added:
        _warn_of_banned(one)
        _warn_of_boxes(one)
    for id_, why in not_counted.items():
        complain(f"note: {id_} stands in the record and does not date: {why}.")


def _warn_of_banned(entry: Entry) -> None:
    """Say at once what no paper will carry; the entry itself may say what it likes."""
    from heelstamp.wording import find_banned

    for field, value in entry.body.items():
        if isinstance(value, str) and (found := find_banned(value)):
            complain(
                f"note: {entry.kind} {entry.body.get('id', '')}, field {field}: no paper can carry "
                f"“{found[0].phrase}”; enter a correction in other words before a paper is issued."
            )


def _warn_of_boxes(entry: Entry) -> None:
    """Name what a paper will show as a box; the record keeps it as it was typed."""
    from heelstamp.report.printable import BOX, boxed_fields, named

    for field, unshown in boxed_fields(entry.body):
        complain(
            f"note: {entry.kind} {entry.body.get('id', '')}, field {field}: a paper shows {BOX} "
            f"for {named(unshown)}; the record keeps it as typed."
        )


def _attached(
    shop: OpenShop,
    tag: str,
    kind: str,
    file: Path | None,
    body: dict[str, Any],
    grey_row: str | None,
    by: str,
) -> tuple[tuple[Entry, ...], PhotoCare | None]:
    """Keep the file of a photograph or recording, and enter it."""
    from heelstamp.casework.dossier import attach_recording
    from heelstamp.casework.finish import read_numbers
    from heelstamp.shop import now
    from heelstamp.shop.files import read_file
    from heelstamp.shop.photographs import keep_photograph

    if file is None:
        raise InputError(f"a {kind} needs its file", where="add", remedy="Give --file.")
    body.setdefault("name", file.name)
    if kind == "recording":
        return (attach_recording(shop, tag, read_file(file), body, at=now(), by=by),), None
    row = None if grey_row is None else read_numbers(grey_row, "x0,y0,x1,y1,PATCHES", "--grey-row")
    kept = keep_photograph(shop, tag, read_file(file), body, by=by, grey_row=row)
    return (() if kept.entry is None else (kept.entry,)), kept.care


def _body(opened: OpenShop, tag: str, kind: str, fields: list[str]) -> dict[str, Any]:
    from heelstamp.casework.dossier import next_id

    body: dict[str, Any] = {}
    for field in fields:
        key, equals, value = field.partition("=")
        if key in body:
            raise InputError("a field twice", where="add", received=key, remedy="Give it once.")
        if not equals or not key:
            raise InputError("not a field", where="add", received=field, remedy="Write key=value.")
        name, dot, inner = key.partition(".")
        if dot and inner and isinstance(body.setdefault(name, {}), dict):
            body[name][inner] = _value(inner, value)
        else:
            body[key] = _value(key, value)
    if kind != "instrument" and "id" not in body:
        body["id"] = next_id(opened.subject(tag).state, kind[:1])
    if kind == "photograph":
        from heelstamp.shop.photographs import photo_plan

        return photo_plan().filed(body)
    return body


def _typed(kind: str, body: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Read words that a person typed, as ``relief at the 8th fret``, into fields of their own."""
    from heelstamp.catalogue.form1 import typed

    later = {"file": "0" * 64, "media_type": "audio/flac"} if kind == "recording" else {}
    read = typed(kind, later | body)
    if read is None:
        return kind, body
    return read[0], {key: one for key, one in read[1].items() if key not in later or key in body}


_TEXTS = frozenset(
    {"text", "variant", "outcome", "note", "reason", "id", "claimed", "period", "amount"}
)


def _value(key: str, value: str) -> Any:
    """Read a value as JSON unless the field is text by its nature (a serial 0501 is no number)."""
    if key in _TEXTS:
        return value
    try:
        return json.loads(value)
    except (ValueError, RecursionError):
        return value


def _entries_of(path: Path, opened: OpenShop) -> list[NewEntry]:
    from heelstamp.casework.examination import read_examination
    from heelstamp.documents import decode_text, format_of
    from heelstamp.shop.files import read_file

    text = decode_text(read_file(path), path.name)
    read = read_examination(text, format_of(path.name), opened.tree_for, name=path.name)
    return [NewEntry(kind, body) for kind, body in read.entries if kind != "instrument"]


def show(
    tag: Annotated[str, typer.Argument(help="Tag of the dossier.")],
    part: Annotated[str | None, typer.Option(help="Only this part.")] = None,
    journal: Annotated[bool, typer.Option("--journal", help="The entries, one a line.")] = False,
    photos: Annotated[
        bool, typer.Option("--photos", help="What the photo plan still misses.")
    ] = False,
    before: Annotated[
        str | None, typer.Option("--before", help="With --photos: only what this act would end.")
    ] = None,
    lamp: Annotated[bool, typer.Option("--lamp", help="UV-A dose of each day.")] = False,
    panel: Annotated[
        bool, typer.Option("--panel", help="Whether the lamp drifted, from the weekly panel.")
    ] = False,
    odd: Annotated[
        bool, typer.Option("--odd", help="Odd ones in sets of parts, and how often that is met.")
    ] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Show what stands in a dossier: seen, measured, done, and what was not looked at.

    Example: heelstamp show H-0001 --part neck
    """
    from heelstamp.archive import read_json
    from heelstamp.casework.dossier import entries_of
    from heelstamp.casework.examination import examination_data
    from heelstamp.shop.odd_parts import odd_parts
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.panel import panel_series
    from heelstamp.shop.photographs import missing_photographs
    from heelstamp.shop.uv_lamp import lamp_doses

    with OpenShop(shop) as opened:
        if photos or before is not None:
            missing = missing_photographs(opened, tag, before=before)
            return show_photos(missing, before, as_json=as_json)
        if lamp:
            return show_lamp(lamp_doses(opened, tag), as_json=as_json)
        if odd:
            return show_odd(odd_parts(opened, tag), as_json=as_json)
        if panel:
            return show_panel(panel_series(opened, tag), as_json=as_json)
        subject = opened.subject(tag)
        state, tree = subject.state, subject.tree
        entries = entries_of(opened, tag) if journal else ()
        lines = opened.journals.lines(tag) if journal else ()
    if part is not None:
        tree.part(part, where="--part")
    if as_json and journal:
        emit([read_json(line) for line in lines])
    elif as_json:
        emit({**examination_data(state), "custody_state": state.custody_state, "head": state.head})
    elif journal:
        rows = [
            (str(e.seq), e.at, e.by, e.kind, str(e.body.get("id", "")), e.digest[:12])
            for e in entries
        ]
        table(rows, ("entry", "time", "by", "kind", "id", "digest"))
    else:
        _print_state(state, tree, part)
    return Exit.DONE


def _print_state(state: DossierState, tree: PartsTree, part: str | None) -> None:
    from heelstamp.casework.feature_names import found_words, part_label, reader_words

    instrument = state.instrument
    say(f"{instrument.tag}  {instrument.maker} {instrument.model}  ({state.custody_state})")
    seen = [one for one in state.observations.values() if part in (None, one.part)]
    heading("Seen")
    rows = [
        (
            one.id,
            part_label(tree, one.part),
            one.subject.replace("_", " "),
            found_words(one),
            " ".join(one.frames),
        )
        for one in seen
    ]
    table(rows, ("id", "part", "what", "found", "frames"))
    from heelstamp.casework.looking import parts_spoken_of
    from heelstamp.casework.papers.evidence_section import UNDER_LAMP
    from heelstamp.catalogue import Exposure, amount_words, quantity_words

    measured = [one for one in state.measurements.values() if part in (None, one.part)]
    if measured:
        heading("Measured (± one standard deviation)")
        table(
            [
                (m.id, part_label(tree, m.part), quantity_words(m), m.stage, str(m.measured))
                for m in measured
            ],
            ("id", "part", "quantity", "stage", "value"),
        )
    done = [one for one in state.treatments.values() if part in (None, one.part)]
    lit = [one for one in state.of(Exposure).values() if part in (None, one.part)]
    if done or lit:
        heading("Done")
        table(
            [
                (one.id, part_label(tree, one.part), reader_words(one.act), amount_words(one))
                for one in done
            ]
            + [
                (one.id, part_label(tree, one.part), UNDER_LAMP, f"{one.minutes or 0:g} min")
                for one in lit
            ],
            ("id", "part", "act", "amount"),
        )
    if part is None:
        looked = parts_spoken_of(state, tree)
        never = [one.label for one in tree if one.key not in looked]
        if never:
            heading("Nothing entered on")
            say(", ".join(never), "  ")
        say()
        say(
            f"{state.length} entries, {len(state.photographs)} photographs, "
            f"{len(state.corrections)} corrections; last entry {state.head}"
        )
