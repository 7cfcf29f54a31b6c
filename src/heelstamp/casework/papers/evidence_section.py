"""From the record to the tables of what was seen, measured, done, told, and not read.

Facts go through unchanged and in the order of entry. Joints have sentences of their own, because a
second heating is a fact that does not show a replacement (rule 7). A quoted statement that holds
words no paper may carry is left out and said to be kept in the dossier.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import cast

from heelstamp.casework.feature_names import FeatureNames, heading, part_label, quoted, reader_words
from heelstamp.casework.papers.audience import REASON_KEPT
from heelstamp.casework.papers.document_rows import NotReadRow, Picture
from heelstamp.casework.picture_scales import bar_of, scales_of
from heelstamp.catalogue import (
    DossierState,
    Exposure,
    Observation,
    PartsTree,
    Photograph,
    amount_words,
    quantity_words,
)
from heelstamp.units import Quantity
from heelstamp.wording import Grounds, Statement, about_closed, about_record, find_banned
from heelstamp.wording.about_parts import JOINTS, Joint
from heelstamp.wording.about_record import UNREAD, Unread

TOUCHED_ONLY = "whether it was fitted first (measured or worked on only)"
NO_ENTRY = "no entry at all"
UNDER_LAMP, TO_SEE_THE_GLOW = "UV-A lamp", "to see the glow of the finish"
_JOINTS: dict[str, Joint] = {
    "undisturbed": "undisturbed",
    "untouched": "undisturbed",
    "disturbed": "second heating",
    "second heating": "second heating",
    "second wetting": "second heating",
    "rewetted": "second heating",
    "re-wetted": "second heating",
    "reworked": "second heating",
    "cannot tell": "cannot tell",
    "unclear": "cannot tell",
}


def seen_statements(
    state: DossierState, tree: PartsTree, names: FeatureNames
) -> tuple[Statement, ...]:
    """A statement for every observation that was read, then for the contents of the case."""
    told = [_seen(one, tree, names) for one in state.observations.values() if one.is_read]
    told += [
        about_record.document_seen(
            f"seen:{one.id}",
            Grounds((one.id,), tuple(one.frames)),
            part="In the case",
            document=one.item,
            link=one.link,
        )
        for one in state.contents.values()
    ]
    return tuple(told)


def _seen(one: Observation, tree: PartsTree, names: FeatureNames) -> Statement:
    id_, grounds = f"seen:{one.id}", Grounds((one.id,), tuple(one.frames))
    label = part_label(tree, one.part)
    part = heading(label)
    note = f". {heading(one.note.rstrip('.'))}" if one.note else ""
    if one.kind == "mark":
        periods = " or ".join(str(reading.months) for reading in one.readings)
        lot = f", lot {one.lot}" if one.lot else ""
        mark = quoted(one) if one.text else f"mark naming {periods}"
        return about_record.mark_seen(id_, grounds, part=part, mark=f"{mark}{lot}{note}")
    if one.kind == "serial":
        return about_record.serial_seen(id_, grounds, part=part, number=f"{quoted(one)}{note}")
    if one.kind == "feature":
        feature = names.name(one.subject)
        told = names.variant(one.variant or "")
        subject = "" if feature == label else feature
        return about_record.feature_seen(
            id_, grounds, part=part, feature=subject, variant=f"{told}{note}"
        )
    if one.kind == "document":
        ends = [month for month in (one.not_before, one.not_after) if month]
        return about_record.document_seen(
            id_,
            grounds,
            part=part,
            document=f"document of {' to '.join(dict.fromkeys(ends))}{note}",
            link=one.link or "",
        )
    outcome = one.outcome or ""
    joint = joint_outcome(one)
    if joint:
        say = JOINTS[joint]
        return say(id_, grounds, joint=f"{label} joint", note=heading(one.note))
    told = names.variant(outcome) if outcome else "assessed by likelihoods"
    return about_record.sign_seen(
        id_, grounds, part=part, sign=names.name(one.subject), outcome=f"{told}{note}"
    )


def joint_outcome(one: Observation) -> Joint | None:
    """Tell what a look at a solder joint came to; None where it was of something else."""
    if one.kind != "sign" or "joint" not in one.subject or not one.is_read:
        return None
    return _JOINTS.get((one.outcome or "").replace("_", " "))


def measured_statements(state: DossierState, tree: PartsTree) -> tuple[Statement, ...]:
    """A statement for every measured value, and for weighings at a change of custody."""
    told = [
        about_record.measured(
            f"measured:{one.id}",
            Grounds((one.id,), tuple(one.frames)),
            part="Whole instrument"
            if one.measured.kind == "mass" and one.part == "body"
            else heading(part_label(tree, one.part)),
            quantity=reader_words(quantity_words(one)),
            value=one.measured,
            stage=one.stage,
            temperature_c=one.temperature,
        )
        for one in state.measurements.values()
    ]
    told += [
        about_record.measured(
            f"measured:{one.id}",
            Grounds((one.id,)),
            part="Whole instrument",
            quantity=f"weight ({one.event})",
            value=Quantity(one.weight_g, "g", one.weight_uncertainty_g or 0.0),
        )
        for one in state.custody.values()
        if one.weight_g is not None
    ]
    return tuple(told)


def not_read_rows(
    state: DossierState, tree: PartsTree, names: FeatureNames
) -> tuple[NotReadRow, ...]:
    """Every observation that read nothing, and every part without any observation."""
    rows = []
    for one in state.observations.values():
        if one.is_read:
            continue
        subject = names.name(one.subject) if one.feature or one.sign else one.kind
        rows.append(
            NotReadRow(
                cast("Unread", one.status),
                heading(part_label(tree, one.part)),
                subject,
                one.note,
                tuple(one.frames),
            )
        )
    touched = {one.part for one in state.measurements.values()}
    touched |= {one.part for one in state.treatments.values()}
    touched |= {one.part for one in state.of(Exposure).values()}
    for part in tree:
        family = [part.key, *(child.key for child in tree.children(part.key))]
        if not any(state.of_part(key) for key in family):
            subject = TOUCHED_ONLY if touched.intersection(family) else NO_ENTRY
            rows.append(NotReadRow("not looked", heading(part.label), subject))
    return tuple(sorted(rows, key=lambda row: UNREAD.index(row.status)))


def acts(state: DossierState, tree: PartsTree, interest: str) -> tuple[Statement, ...]:
    """Disclose every act of the shop, what the owner refused, and what it gains (rule 14)."""
    told = {
        one.id: about_record.treatment(
            f"act:{one.id}",
            Grounds((one.id,), _frames((*one.before, *one.after), state)),
            part=heading(part_label(tree, one.part)),
            act=reader_words(one.act),
            material=one.material,
            amount=amount_words(one),
            minutes=one.minutes or None,
            reversible=one.reversible,
            reason="" if one.reason == REASON_KEPT else one.reason,
        )
        for one in state.treatments.values()
    }
    told |= {
        one.id: about_record.treatment(
            f"act:{one.id}",
            Grounds((one.id,)),
            part=heading(part_label(tree, one.part)),
            act=UNDER_LAMP,
            minutes=one.minutes or None,
            reversible=True,
            reason=one.reason or TO_SEE_THE_GLOW,
        )
        for one in state.of(Exposure).values()
    }
    ordered = [told[id_] for id_ in state.entered if id_ in told]
    ordered = ordered or [about_record.no_treatment("act:none")]
    refused = list(dict.fromkeys(one.act for one in state.consents.values()))
    refused = [act for act in refused if state.leave(act).standing == "refused"]
    if refused:
        grounds = Grounds(tuple(state.leave(act).entry for act in refused))
        told_acts = [reader_words(act) for act in refused]
        ordered.append(about_closed.leave_refused("act:refused", grounds, acts=told_acts))
    return (*ordered, about_record.interest("interest", what=interest))


def acts_done(state: DossierState) -> list[str]:
    """Name every act of the shop, in the order of entry."""
    done = {one.id: one.act for one in state.treatments.values()}
    done |= dict.fromkeys(state.of(Exposure), UNDER_LAMP)
    return [done[id_] for id_ in state.entered if id_ in done]


def _frames(ids: Iterable[str], state: DossierState) -> tuple[str, ...]:
    """Turn evidence ids into photographs: themselves, or those that show the evidence."""
    frames: list[str] = []
    for id_ in ids:
        if id_ in state.photographs:
            frames.append(id_)
        elif id_ in state.observations:
            frames += state.observations[id_].frames
        elif id_ in state.measurements:
            frames += state.measurements[id_].frames
    return tuple(dict.fromkeys(frames))


def told_statements(state: DossierState) -> tuple[Statement, ...]:
    """Quote what people said, by role."""
    return tuple(
        about_record.reported(
            f"told:{one.id}",
            Grounds((one.id,)),
            role=heading(one.role),
            about=one.about,
            text="kept in the dossier, not repeated here" if find_banned(one.text) else one.text,
            signed=one.signed,
        )
        for one in state.statements.values()
    )


def pictures(state: DossierState, tree: PartsTree) -> tuple[Picture, ...]:
    """The contact sheet, private frames included and marked."""
    scales, close = scales_of(state), _close_frames(state)
    return tuple(
        replace(
            _picture(one, tree),
            aspect=one.width / one.height,
            close=one.part is not None or one.id in close,
            bar_mm=bar[0],
            bar_share=bar[1],
        )
        for one in state.photographs.values()
        for bar in (bar_of(scales.get(one.id)),)
    )


def _close_frames(state: DossierState) -> frozenset[str]:
    """Frames that a mark, a joint or a screw was seen on."""
    return frozenset(
        frame
        for one in state.observations.values()
        if one.kind in ("mark", "serial") or "joint" in one.subject or "screw" in one.subject
        for frame in one.frames
    )


def _picture(one: Photograph, tree: PartsTree) -> Picture:
    subject = part_label(tree, one.part) if one.part else "whole instrument"
    slot = reader_words(one.slot)
    told = subject if slot in ("", subject) else f"{subject}, {slot}" if one.part else slot
    light = "" if one.light == "visible" or one.light in told else f", {one.light}"
    caption = heading(f"{told}{light}")
    made = "Simulated picture" if one.simulated else "Photograph"
    alt = f"{made} {one.id}: {told}; {one.light} light"
    alt = f"{alt}. {one.note}" if one.note else f"{alt}."
    return Picture(one.id, caption, alt, one.file, one.simulated, one.private)


def weight_as_found(state: DossierState, *, last: bool = False) -> str:
    """The last weight of the record, with the first where it differs, or an empty text.

    With *last* the last alone.
    """
    weights = [
        Quantity(taken.weight_g, "g", taken.weight_uncertainty_g or 0.0)
        for taken in state.custody.values()
        if taken.weight_g is not None
    ] or [
        one.measured
        for one in state.measurements.values()
        if one.measured.kind == "mass" and one.part == "body"
    ]
    if not weights:
        return ""
    first, now = weights[0], weights[-1]
    return str(now) if last or first == now else f"{now} ({first} as received)"
