"""Versions of a paper: their numbers, and what changed against the last.

A version is one `Issue` entry of a paper to a reader, numbered from 1 in the order of entry. What
changed is told from the files that both versions carry, so that nothing is said to a reader that
they do not hold.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from heelstamp.casework.papers.document_rows import Version
from heelstamp.catalogue import DossierState, Issue
from heelstamp.units import Period
from heelstamp.wording import about_issues

FIRST = about_issues.first_issue.say()
_NOTEWORTHY = 0.05
"""A state's probability that moved by less is not told."""


def issues_of(state: DossierState, paper: str, reader: str) -> tuple[Issue, ...]:
    """All issues of a paper to a reader that were kept, the first one first."""
    return tuple(
        one
        for one in state.of(Issue).values()
        if (one.paper, one.reader) == (paper, reader) and one.file is not None
    )


def number_of(state: DossierState, issue: Issue) -> int:
    """Number of a version: as its entry says it, or counted where it was entered before that."""
    if issue.version:
        return issue.version
    named = [one.id for one in issues_of(state, issue.paper, issue.reader)]
    return named.index(issue.id) + 1 if issue.id in named else len(named) + 1


def next_number(state: DossierState, paper: str, reader: str) -> int:
    """The number of the next version."""
    return max((number_of(state, one) for one in issues_of(state, paper, reader)), default=0) + 1


def versions_of(
    state: DossierState, *, paper: str, reader: str, day: str, changed: tuple[str, ...]
) -> tuple[Version, ...]:
    """Every version up to the one of *day*, with the digest of each that it supersedes."""
    earlier = [
        Version(
            number_of(state, one), one.day or "", "; ".join(one.changed) or FIRST, one.file or ""
        )
        for one in issues_of(state, paper, reader)
    ]
    mine = Version(next_number(state, paper, reader), day, "; ".join(changed) or FIRST)
    return (*earlier, mine)


def changes(before: Mapping[str, bytes], now: Mapping[str, bytes]) -> tuple[str, ...]:
    """What changed between the files of two versions, a phrase each.

    Parameters
    ----------
    before, now
        Files attached to each, by name; those that are missing or unreadable are passed over.
    """
    told = [
        *_date(_json(before, "finding.json"), _json(now, "finding.json")),
        *_entries(_json(before, "examination.json"), _json(now, "examination.json")),
        *_parts(_json(before, "finding.json"), _json(now, "finding.json")),
    ]
    if told:
        return tuple(told)
    same = {name: data for name, data in before.items() if name in now} == dict(now)
    return (about_issues.same_record.say() if same else about_issues.computed_anew.say(),)


def _json(files: Mapping[str, bytes], name: str) -> Mapping[str, Any]:
    try:
        found = json.loads(files[name])
    except (KeyError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _date(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    ranges = []
    for one in (before, now):
        pair = ((one.get("completion") or {}).get("interval") or {}).get("90")
        ranges.append(str(Period.parse(list(pair))) if pair else "")
    if not before or not now or ranges[0] == ranges[1]:
        return []
    return [about_issues.range_moved.say(before=ranges[0], now=ranges[1])]


def _entries(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """Kinds of entry of which there are more, fewer or other ones."""
    if not before or not now:
        return []
    told = []
    for kind in dict.fromkeys((*before, *now)):
        old, new = before.get(kind), now.get(kind)
        if not isinstance(old or new, list):
            continue
        was = [_bare(one) for one in old or []]
        is_ = [_bare(one) for one in new or []]
        more = len([one for one in is_ if one not in was])
        fewer = len([one for one in was if one not in is_])
        if more or fewer:
            told.append(
                about_issues.entries_changed.say(
                    kind=kind.replace("_", " "), more=more, fewer=fewer
                )
            )
    return told


def _bare(one: Any) -> str:
    """An entry without its name, which an outsider's record gives anew each time."""
    if isinstance(one, dict):
        one = {key: value for key, value in one.items() if key not in ("id", "frames", "look")}
    return json.dumps(one, sort_keys=True)


def _parts(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    was, is_ = before.get("parts") or {}, now.get("parts") or {}
    moved = [
        part.replace("_", " ")
        for part, states in is_.items()
        if part in was
        and any(abs(p - was[part].get(name, 0.0)) >= _NOTEWORTHY for name, p in states.items())
    ]
    return [about_issues.parts_moved.say(parts=moved)] if moved else []
