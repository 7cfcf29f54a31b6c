"""Decisions of form 1: the kinds that were hidden in what a decision is about."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from heelstamp.catalogue.form1.words import NotConvertedError

Plain = dict[str, Any]
NO_HIT = "no hit on that day"
_DIGEST = re.compile(r"[0-9a-f]{64}")
_REGION = re.compile(
    r"glow:(?P<look>.+):(?P<finding>[0-9a-f]{12,64}):region (?P<region>\d+)(?P<border>:border)?"
)
_AREA = re.compile(r"(?:no scale|([\d.]+)(?: ± ([\d.]+))? cm²) inside(?:; (.*))?", re.DOTALL)
_LAMP = re.compile(r"lamp:([^+]+)\+([^+]+)")
_SEARCHED = re.compile(r"searched on (\d{4}-\d\d-\d\d) for (.*)")
_BY_EYE = re.compile(r"(?:(.*); )?by eye, (\S+) and (\S+)", re.DOTALL)
_SUM = re.compile(r"([\d,' \u00a0\u2009\u202f]*\d(?:\.\d+)?)\s*([A-Z]{3})?")
_SETS = {"setup: set as found": "found", "setup: new set": "new"}
_TASKS = ("to be looked at", "looked at")
_PREFIXES = ("title search:", "title note:", "near number:", "material:", "grade:")


def convert_decision(written: Plain) -> tuple[str, Plain]:
    """Convert a decision; one on a matter without a kind of its own stays a decision.

    Raises
    ------
    NotConvertedError
        It is on a matter with a kind of its own, and says what that kind cannot hold.
    """
    about = written["about"]
    for prefix, convert in (
        ("words:", _wording),
        ("question:", _answered),
        ("task:", _task),
        ("return:", _returned),
        ("paper:report:", _paper),
    ):
        if about.startswith(prefix):
            return convert(written, about.removeprefix(prefix))
    if (region := _REGION.fullmatch(about)) is not None:
        return _border(written, region) if region["border"] else _region(written, region)
    if (pair := _LAMP.fullmatch(about)) is not None:
        body = _base(written, reason="note") | {"visible": pair[1], "uv": pair[2]}
        return "pair_marks", body | {"file": _digest(written)}
    if about in _SETS:
        return "string_set", _base(written) | {"which": _SETS[about], "strings": written["decided"]}
    if about == "terms of consignment":
        whole = written["reason"].startswith("Terms of the whole shop")
        scope = "shop" if whole else "dossier"
        return "terms", _base(written) | {"file": _digest(written), "scope": scope}
    return _appraised(written)


def _base(written: Plain, *, reason: str = "reason") -> Plain:
    body = {"id": written["id"], reason: written["reason"]}
    return body | ({"made": written["made"]} if "made" in written else {})


def _digest(written: Plain) -> str:
    if _DIGEST.fullmatch(written["decided"]) is None:
        raise NotConvertedError(f'what was decided on "{written["about"]}" is no SHA-256')
    return str(written["decided"])


def _wording(written: Plain, sentence: str) -> tuple[str, Plain]:
    return "wording", _base(written) | {"sentence": sentence, "word": written["decided"]}


def _paper(written: Plain, reader: str) -> tuple[str, Plain]:
    body = _base(written, reason="note") | {"paper": "report", "reader": reader}
    return "issue", body | {"file": _digest(written)}


def _answered(written: Plain, question: str) -> tuple[str, Plain]:
    body = _base(written, reason="asked") | {"question": question, "state": "answered"}
    return "question", body | {"answer": written["decided"]}


def _task(written: Plain, question: str) -> tuple[str, Plain]:
    if written["decided"] not in _TASKS:
        raise NotConvertedError(f"a task is one of {', '.join(_TASKS)}")
    body = _base(written, reason="asked") | {"question": question}
    return "question", body | {"state": written["decided"]}


def _returned(written: Plain, slot: str) -> tuple[str, Plain]:
    body = _base(written) | {"slot": slot, "verdict": written["decided"]}
    if (found := _BY_EYE.fullmatch(written["reason"])) is not None:
        body |= {"reason": found[1] or "", "left": found[2], "returned": found[3]}
    return "return_verdict", body


def _named(region: re.Match[str]) -> Plain:
    return {"look": region["look"], "finding": region["finding"], "region": int(region["region"])}


def _region(written: Plain, region: re.Match[str]) -> tuple[str, Plain]:
    return "region", _base(written) | _named(region) | {"verdict": written["decided"]}


def _border(written: Plain, region: re.Match[str]) -> tuple[str, Plain]:
    body = _base(written) | _named(region)
    if written["decided"] == "stands":
        return "border", body
    body["file"] = _digest(written)
    if (area := _AREA.fullmatch(written["reason"])) is not None:
        body["reason"] = area[3] or ""
        if area[1]:
            body["area_cm2"] = float(area[1])
        if area[2]:
            body["area_uncertainty_cm2"] = float(area[2])
    return "border", body


def _appraised(written: Plain) -> tuple[str, Plain]:
    """Convert matters of the price and of clearance, which form 1 read in small letters."""
    about = " ".join(written["about"].split())
    key, decided = about.casefold(), written["decided"].strip()
    start = next((one for one in _PREFIXES if key.startswith(one)), "")
    rest = about[len(start) :].strip() if start else ""
    if key in _MATTERS:
        kind, convert = _MATTERS[key]
        return kind, _base(written) | convert(decided)
    if key in ("insured value", "sold"):
        return "price", _base(written) | {"of": key} | _sum(decided)
    if not rest:
        return "decision", written
    if start == "title search:":
        return "title_search", _search(written, rest, decided)
    if start == "material:" and rest.casefold() == "looked":
        return "materials_looked", _base(written) | {"found": decided}
    kind, named = _NAMED[start]
    return kind, _base(written) | named(rest, decided)


def _colour(text: str) -> Plain:
    return {"colour": _word(text, ("standard", "rare"), "colour")}


def _case(text: str) -> Plain:
    return {"included": _word(text, ("yes", "no"), "case") == "yes"}


def _changed(text: str) -> Plain:
    if not text.isascii() or not text.isdigit() or len(text) > 2:
        raise NotConvertedError(f"no small whole number of other parts changed: {text}")
    return {"count": int(text)}


def _grade(text: str) -> Plain:
    if len(text) != 1 or text.upper() not in "ABCDE":
        raise NotConvertedError(f"not a grade from A (best) to E: {text}")
    return {"grade": text.upper()}


def _word(text: str, words: tuple[str, ...], about: str) -> str:
    if text.casefold() not in words:
        raise NotConvertedError(f"{about} is {' or '.join(words)}, not: {text}")
    return text.casefold()


def _sum(text: str) -> Plain:
    found = _SUM.fullmatch(text)
    if found is None:
        raise NotConvertedError(f"not an amount of money: {text}")
    amount = re.sub(r"[^0-9.]", "", found[1])
    return {"amount": amount} | ({"currency": found[2]} if found[2] else {})


def _search(written: Plain, name: str, decided: str) -> Plain:
    hit = decided.casefold() != NO_HIT
    body = _base(written, reason="note") | {"register": name, "hit": hit}
    if hit:
        body["result"] = decided
    if (found := _SEARCHED.fullmatch(written["reason"])) is not None:
        numbers = [] if found[2] == "no number that was read" else found[2].split(", ")
        body |= {"day": found[1], "numbers": numbers, "note": ""}
    return body


_MATTERS: dict[str, tuple[str, Callable[[str], Plain]]] = {
    "grade": ("grade", _grade),
    "colour": ("colour", _colour),
    "case": ("case_included", _case),
    "other parts changed": ("changed_parts", _changed),
}
_NAMED: dict[str, tuple[str, Callable[[str, str], Plain]]] = {
    "grade:": ("grade", lambda name, text: {"aspect": name, **_grade(text)}),
    "title note:": (
        "title_note",
        lambda name, text: {"subject": name, "open": text.casefold() != "closed"},
    ),
    "near number:": ("near_number", lambda name, text: {"number": name, "settled": text}),
    "material:": ("material", lambda name, text: {"rule": name, "answer": text}),
}
