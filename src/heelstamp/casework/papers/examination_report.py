"""The examination report: from the state of a dossier and its date finding to a document.

Pure: everything that varies (reader, date of issue, program, names of features) is an argument.
The full document is built first and cut to its reader last (``audience``), so that nothing a
reader may not see can stamp past the cut. Every text passes the search for banned words; a record
whose notes hold them is refused with the place named.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from heelstamp.casework.cautions import CAUTIONS
from heelstamp.casework.feature_names import FeatureNames, quoted
from heelstamp.casework.finish.finding_file import KeptFinding
from heelstamp.casework.own_record import OwnRecord
from heelstamp.casework.papers.audience import Audience, cut, digits_of, is_name, looks_like_name
from heelstamp.casework.papers.condition_section import condition_section
from heelstamp.casework.papers.document import OUTSIDERS, Reader, ReportDocument, texts
from heelstamp.casework.papers.document_rows import Check, Version
from heelstamp.casework.papers.doubt_section import DoubtSection, doubt_section
from heelstamp.casework.papers.evidence_section import (
    acts,
    measured_statements,
    not_read_rows,
    pictures,
    seen_statements,
    told_statements,
    weight_as_found,
)
from heelstamp.casework.papers.finish_section import finish_checks, finish_section
from heelstamp.casework.papers.first_page import cover_frames, summary_rows
from heelstamp.casework.papers.fixed_texts import NOT_SETTLED_ROW, SCALE
from heelstamp.casework.papers.key_pictures import key_pictures
from heelstamp.casework.papers.method_section import custody_rows, method_statements, searches
from heelstamp.casework.papers.own_record_section import OwnRecordSection, own_record_section
from heelstamp.casework.papers.part_section import touched_chance
from heelstamp.casework.papers.playing_section import playing_section
from heelstamp.casework.papers.said import Said, what_is_said
from heelstamp.catalogue import Consent, Custody, DossierState, Observation, PartsTree
from heelstamp.catalogue import Statement as Told
from heelstamp.catalogue.clock import unsure_times
from heelstamp.units import LengthUnit
from heelstamp.wording import Statement, find_banned, refuse_banned
from heelstamp.wording.about_issues import (
    CHECK_SIGNATURE,
    SIGNED_WITH,
    WHOSE_KEY,
    key_known_elsewhere,
)

CONCLUSIONS_MAX = 5
DEMONSTRATION = "Demonstration: instrument, maker and readings are invented, pictures are simulated"
COMMISSION = (
    "we sell this instrument on commission, so we earn more when it sells for more. Read our "
    "opinions with that in mind"
)


@dataclass(frozen=True, slots=True)
class Issue:
    """What a paper says of itself.

    Attributes
    ----------
    program
        'Heelstamp 0.1.0'.
    date
        Day of issue, ISO 8601.
    interest
        What the shop gains by the sale, one clause.
    attachments
        Names of the files that travel inside.
    versions
        This version last (rule 15).
    demonstration
        The instrument is invented; every page says so.
    digest
        Of the entry that fixes the paper; empty in a preview.
    key
        Fingerprint of the key that signs it as a whole; empty in a preview.
    weight
        As an outsider's record does not tell it; else it is that of the state.
    examiners
        Role of each who examined, with the shop's record of their competence.
    lengths
        Unit of lengths on the paper.
    """

    program: str
    date: str
    interest: str = COMMISSION
    attachments: tuple[str, ...] = ()
    versions: tuple[Version, ...] = field(default=())
    demonstration: bool = False
    digest: str = ""
    key: str = ""
    weight: str = ""
    examiners: tuple[tuple[str, str], ...] = ()
    lengths: LengthUnit = "mm"


def examination_report(
    state: DossierState,
    tree: PartsTree,
    finding: Mapping[str, Any],
    *,
    reader: Reader,
    issue: Issue,
    names: FeatureNames | None = None,
    doubts: Mapping[str, Any] | None = None,
    finish: Mapping[str, KeptFinding] | None = None,
    record: OwnRecord | None = None,
    additional: Sequence[Statement] = (),
    private_names: Iterable[str] = (),
    audience: Audience | None = None,
) -> ReportDocument:
    """Build the report for one reader.

    Parameters
    ----------
    state, tree
        The dossier and the parts tree of its kind of instrument.
    finding
        JSON form of the date finding of that state.
    reader
        Whose copy.
    issue
        What the paper says of itself.
    names
        Names of the chronology's features and signs.
    doubts
        JSON form of the doubt finding of that state; with it statements that turn over are said
        as *not settled*, on the first page too, and a section tells what does not fit.
    finish
        Kept findings of visible / UV-A pairs, by observation.
    record
        The shop's own record, told once there are cases enough.
    additional
        Statements of other findings (coating, species, value), sorted in by their layer.
    private_names
        Further names of private persons to withhold from outsiders.
    audience
        To whom the state was cut already; without it, it is cut here.

    Raises
    ------
    BannedWordsError
        A note, label or reason holds words that no paper may carry.
    """
    words = names if names is not None else FeatureNames()
    told = what_is_said(
        state, tree, words, finding, None if doubts is None else doubts["sensitivity"]
    )
    dated, rows, said = told.dated, told.rows, told.statements
    doubted = DoubtSection((), ())
    if doubts is not None:
        doubted = doubt_section(state, tree, words, finding, doubts)
    faces, finish_limits = finish_section(state, finish or {}, touched_chance(finding))
    told_of = record is not None and record.stands
    kept = own_record_section(record) if record and told_of else OwnRecordSection()
    extra = {
        layer: tuple(one for one in additional if one.layer == layer)
        for layer in ("seen", "measured", "inferred", "opinion")
    }
    seen = (*seen_statements(state, tree, words), *extra["seen"])
    unread = not_read_rows(state, tree, words)
    playing = playing_section(
        state,
        tree,
        lengths=issue.lengths,
        electrics=[one for one in additional if one.id.startswith("jack:")],
    )
    keys = key_pictures(
        state, tree, rows=rows, said=said, seen=seen, readings=(*dated.open_readings, *dated.named)
    )
    full = ReportDocument(
        title=state.instrument.model,
        subtitle=f"{state.instrument.maker}, electric {tree.label}",
        reader="shop",
        tag=state.instrument.tag,
        program=issue.program,
        kind=state.instrument.kind,
        headline=dated.headline,
        headline_note=dated.headline_note,
        identity=_identity(state, issue, reader),
        conclusions=_conclusions(told, finding, doubted),
        timeline=dated.timeline,
        parts=rows,
        part_statements=said,
        seen=seen,
        measured=(*measured_statements(state, tree), *extra["measured"]),
        inferred=(*dated.inferred, *extra["inferred"]),
        opinions=extra["opinion"],
        not_read=unread,
        acts=acts(state, tree, issue.interest),
        told=told_statements(state),
        cautions=CAUTIONS,
        scale=SCALE if doubts is None else (*SCALE, NOT_SETTLED_ROW),
        checks=_checks(state, finding, issue, reader, finish_checks(faces)),
        pictures=pictures(state, tree),
        versions=issue.versions or (Version(1, issue.date, "first issue"),),
        banner=DEMONSTRATION if issue.demonstration else "",
        doubts=doubted.statements,
        changes=doubted.changes,
        finish=faces,
        finish_limits=finish_limits,
        summary=summary_rows(
            state,
            tree,
            answer=dated.answer,
            rows=rows,
            said=said,
            changed=told.changed,
            seen=seen,
            faces=faces,
            plays=playing.first,
            not_read=unread,
            interest=issue.interest,
        ),
        cover=cover_frames(state),
        keys=keys,
        condition=condition_section(state, tree, words),
        plays=playing.rows,
        plays_told=playing.told,
        searches=searches(state),
        method=method_statements(
            state, finding, rows, dated.answer.grounds, examiners=issue.examiners
        ),
        custody=() if reader in OUTSIDERS else custody_rows(state),
        record=kept.statements,
        record_rows=kept.rows,
    )
    for text in texts(full):
        refuse_banned(text, where="report")
    return cut(full, audience or audience_of(state, reader, private_names))


def audience_of(state: DossierState, reader: Reader, private_names: Iterable[str] = ()) -> Audience:
    """Gather what must be kept from an outsider, from all that was ever entered.

    Corrected entries count too: a serial number once mistyped, a name since withdrawn.
    """
    serials: list[str] = []
    people: list[str] = list(private_names)
    for versions in state.history.values():
        for version in versions:
            body = version.body
            if isinstance(body, Observation) and body.kind == "serial":
                serials += [body.text] if body.text else []
                serials += [reading.text for reading in body.readings if reading.text]
                serials += [digits_of(one) for one in list(serials)]
            elif isinstance(body, Custody):
                people += filter(is_name, (body.giver, body.receiver))
                people += [body.place] if looks_like_name(body.place) else []
            elif isinstance(body, Consent):
                people += [body.by] if is_name(body.by) else []
            elif isinstance(body, Told):
                people += [body.role] if looks_like_name(body.role) else []
    return Audience(
        reader,
        tuple(dict.fromkeys(serials)),
        tuple(dict.fromkeys(name.strip() for name in people if name.strip())),
        frozenset(one.id for one in state.photographs.values() if one.private),
    )


def _identity(state: DossierState, issue: Issue, reader: Reader) -> tuple[tuple[str, str], ...]:
    serials = [
        quoted(seen).strip("“”")
        for seen in state.observations.values()
        if seen.kind == "serial" and seen.is_read
    ]
    examiners = dict.fromkeys(
        state.entered[id_].by
        for id_ in state.observations
        if id_ in state.entered and state.entered[id_].by
    )
    claimed = state.instrument.claimed or ("" if reader in OUTSIDERS else "nothing")
    if find_banned(claimed):
        claimed = "kept in the dossier, not repeated here"
    rows = (
        ("Serial", ", ".join(serials) or "none read"),
        ("Weight", issue.weight or weight_as_found(state) or "not weighed"),
        ("Shop's tag", state.instrument.tag),
        ("Claimed", claimed),
        ("Examined", examined(state)),
        ("By", ", ".join(examiners)),
        ("Issued", _issued(issue)),
        ("Chronology", state.instrument.chronology),
    )
    return tuple(row for row in rows if row[1])


def _issued(issue: Issue) -> str:
    """The day, with the number of the version."""
    number = issue.versions[-1].number if issue.versions else 1
    return f"{issue.date}, version {number}"


def examined(state: DossierState) -> str:
    """Say from which day to which it was looked at, by the times that no other contradicts."""
    made = list(state.entered.values())
    unsure = unsure_times([one.at for one in made])
    looks = {*state.observations, *state.measurements}
    places = [place for place, id_ in enumerate(state.entered) if id_ in looks and made[place].at]
    days = sorted(made[place].at[:10] for place in places if place not in unsure)
    told = " to ".join(dict.fromkeys((days[0], days[-1]))) if days else ""
    if len(days) == len(places):
        return told
    left = len(places) - len(days)
    return f"{told + '; ' if told else ''}{left} entries by an unsure clock"


def _conclusions(
    told: Said, finding: Mapping[str, Any], doubted: DoubtSection
) -> tuple[Statement, ...]:
    """Choose the three to five sentences of the first page, the answer first.

    Where words turn over one sentence more names all that is not settled. A part that was found
    changed keeps its place when that is not settled: a reader is to see it here, with the doubt.

    Where the date is withheld the parts' own dates follow: whether a part is original cannot be
    asked before it is known of what.
    """
    dated, rows = told.dated, told.rows
    by_id = {statement.id: statement for statement in told.statements}
    changed = [by_id[f"part:{key}"] for key in told.changed if f"part:{key}" in by_id]
    neck = [by_id["part:neck"]] if "part:neck" in by_id else []
    undecided = [
        row.key
        for row in rows
        if row.verdict in ("period-correct", "not determined") and f"part:{row.key}" in by_id
    ]
    undecided.sort(key=lambda key: finding["parts"][key].get("original", 0.0))
    open_parts = [by_id[f"part:{key}"] for key in undecided]
    chosen = [
        dated.answer,
        *neck,
        *changed[:2],
        *dated.influences[:1],
        *dated.open_readings[:1],
        *open_parts[:2],
    ]
    if dated.timeline is None:
        chosen = [dated.answer, *dated.part_dates]
    unique = list({one.id: one for one in chosen}.values())[:CONCLUSIONS_MAX]
    unique += [one for one in doubted.statements if one.template == "turns over"]
    return tuple(replace(one, id=f"answer:{one.id}") for one in unique)


def _checks(
    state: DossierState,
    finding: Mapping[str, Any],
    issue: Issue,
    reader: Reader,
    finish: tuple[Check, ...],
) -> tuple[Check, ...]:
    rows = [
        Check("Digest of this issue (SHA-256)", issue.digest or "none: not issued"),
        Check("Digest of the finding (SHA-256)", str(finding.get("digest", "")) or "none"),
        *finish,
    ]
    command = "heelstamp verify report.pdf"
    if reader not in OUTSIDERS:
        rows += [
            Check("Digest of the entry before (SHA-256)", state.head or "not kept in a journal"),
            Check("Entries in the journal", str(state.length) if state.head else "none"),
        ]
        command = f"heelstamp verify {state.instrument.tag}"
    rows.append(Check("Made by", issue.program))
    if issue.attachments:
        rows.append(Check("Files inside this PDF", "\n".join(issue.attachments)))
    if issue.key:
        rows.append(Check(SIGNED_WITH, issue.key))
        rows.append(Check(WHOSE_KEY, key_known_elsewhere.say()))
        rows.append(
            Check(CHECK_SIGNATURE, f"heelstamp verify report.pdf --key {issue.key}", code=True)
        )
    if issue.digest:
        command = f"{command} --last {issue.digest}"
        rows.append(Check("Check that it was issued so", command, code=True))
    if reader in OUTSIDERS:
        held = (
            "What this reader is told and no more: the serial number masked; persons, private "
            "frames and the shop's own notes left out. The results are computed from what is "
            "shown. With copy.json the digest of this issue can be computed from them."
        )
        rows.append(Check("What the files hold", held))
    rows.append(
        Check("Compute the date again", "heelstamp date examination.json --json", code=True)
    )
    rows.append(
        Check(
            "Without this program",
            "Any PDF reader lists the attached files, which are plain JSON. Compare the SHA-256 of "
            "this file with the one told when it was issued.",
        )
    )
    return tuple(rows)
