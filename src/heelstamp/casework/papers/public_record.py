"""The record as an outsider may know it: made first, so that all they hold is computed from it.

A buyer's or an insurer's paper, its attachments and its results rest on this record and on nothing
else. It is made by field: of each kind that tells of the instrument the typed public fields, and
words that a person typed only where the entry is marked public. Names, hands, places, times of
entry, original files, recordings and what was corrected are not in it. Items are sorted by their
own canonical JSON and named anew (``p1``, ``o1``), so that number, order and gaps of the journal
vanish; references to what is not shown are dropped. A serial number is one whose last characters
cannot be read, which a reader can date as the paper does. Declared as shown: its first three
characters and its length.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from heelstamp.archive import canonical_json, sha256
from heelstamp.casework.condition.grading import grades
from heelstamp.casework.finish.borders import spoken
from heelstamp.casework.finish.finding_file import KeptFinding
from heelstamp.casework.papers.audience import (
    KEPT_BY_SHOP,
    REASON_KEPT,
    UNREAD,
    Audience,
    mask_serial,
)
from heelstamp.casework.papers.finish_section import face_name
from heelstamp.catalogue import (
    Body,
    DossierState,
    Exposure,
    Folding,
    Observation,
    PartsTree,
    RegionBorder,
    RegionVerdict,
    WordingChoice,
    body_data,
    kind_of,
)
from heelstamp.catalogue.bodies.appraisal import Grade
from heelstamp.catalogue.bodies.condition import Condition, FaceLooked
from heelstamp.catalogue.bodies.intake import Consent, Contents, Statement
from heelstamp.catalogue.bodies.measurement import Measurement
from heelstamp.catalogue.bodies.media import Photograph, PictureBox, PictureScale
from heelstamp.catalogue.bodies.work import Treatment

Plain = dict[str, Any]

ITEM_KEPT = "not described here"
CONSIGNOR = "the consignor"

# kind: prefix of its names, fields that are public, fields that are so where the entry says it
_FIELDS: dict[type[Body], tuple[str, tuple[str, ...], tuple[str, ...]]] = {
    Consent: ("c", ("act", "granted"), ()),
    Photograph: ("p", ("part", "slot", "light", "simulated"), ("note",)),
    PictureBox: ("h", ("x", "y", "width", "height", "hides"), ()),
    PictureScale: ("z", ("x0", "y0", "x1", "y1", "length_mm"), ()),
    Contents: ("i", ("link",), ("item", "note")),
    Statement: ("s", (), ("role", "about", "text", "signed")),
    Observation: (
        "o",
        (
            *("part", "kind", "status", "text", "readings", "lot", "feature", "variant", "sign"),
            *("outcome", "likelihoods", "turned", "judged", "places", "not_before", "not_after"),
            *("reliability", "link", "reader"),
        ),
        ("note",),
    ),
    Measurement: (
        "m",
        (
            *("quantity", "part", "value", "unit", "stage", "uncertainty", "role", "at", "down"),
            *("strings", "jack", "panel", "temperature", "tool", "typed"),
        ),
        ("note",),
    ),
    Treatment: (
        "t",
        ("act", "part", "reversible", "kind", "material", "turns", "minutes"),
        ("reason", "amount", "felt", "note"),
    ),
    Exposure: ("e", ("part", "minutes"), ("reason", "note")),
    Condition: (
        "d",
        (
            *("damage", "material", "face", "visit", "since", "part"),
            *("length_mm", "width_mm", "uncertainty_mm"),
        ),
        ("note",),
    ),
    FaceLooked: ("l", ("face", "visit"), ("note",)),
    Grade: ("g", ("grade", "aspect"), ("reason",)),
    WordingChoice: ("w", ("sentence", "word", "reason"), ()),
    RegionVerdict: ("r", ("look", "finding", "region", "verdict"), ("reason",)),
    RegionBorder: (
        "b",
        ("look", "finding", "region", "file", "area_cm2", "area_uncertainty_cm2"),
        ("reason",),
    ),
}
"""The kinds of entry that outsiders are told of, in the order in which they enter."""

_WANTED: dict[type[Body], Mapping[str, object]] = {
    Consent: {"by": CONSIGNOR},
    Contents: {"item": ITEM_KEPT},
    Treatment: {"reason": REASON_KEPT},
    Exposure: {"minutes": 0.0},
    Grade: {"reason": REASON_KEPT},
    RegionVerdict: {"reason": REASON_KEPT},
}
"""What stands in a field that a body must have and an outsider does not get."""

_OF_FINISH = (
    *("verdict", "refusals", "limits", "px_per_mm", "frame_px", "assessed_cm2", "smallest_mm"),
    *("likelihoods", "basis", "brushed", "lit_unevenly_cm2"),
)
_DRAWN = ("masks", "transform")
_CLAIM = "claimed"
_OF_INSTRUMENT = ("kind", "maker", "model", "chronology", "tag")
_OF_REGION = (
    *("number", "place", "area_cm2", "area_uncertainty_cm2", "kind", "visible", "confidence"),
    *("causes", "place_ratio", "glow_ratio", "visible_difference", "usual_difference"),
)
_REGION_DRAWN = ("polygon", "centre")
_OF_DOUBT, _DOUBT_DRAWN = ("label", "place", "kind", "why"), ("centre", "reach_px")


@dataclass(frozen=True, slots=True)
class PublicRecord:
    """What an outsider may know.

    Attributes
    ----------
    state
        Of a dossier that holds nothing else; without times, hands and digests of entries.
    source
        Id of the entry that each item was made of, by the name it has here.
    kept
        Findings of visible / UV-A pairs, by the observation's name here.
    """

    state: DossierState
    source: Mapping[str, str]
    kept: Mapping[str, KeptFinding]


def public_record(
    state: DossierState,
    tree: PartsTree,
    audience: Audience,
    *,
    pictures: Mapping[str, Plain],
    kept: Mapping[str, KeptFinding],
    late: Mapping[str, str],
) -> PublicRecord:
    """Make the record that outsiders are told of.

    Parameters
    ----------
    state
        What stands in the dossier.
    late
        Looks at openings from after the shop's own act, which are no evidence, with the words of
        that act: they stand behind the acts here too. One whose act outsiders are not told of is
        left out.
    audience
        Numbers and names that are taken out of typed words too, wherever they stand.
    pictures
        By frame, ``file``, ``media_type``, ``width`` and ``height`` of the picture as printed;
        a photograph without one is not shown.
    kept
        Kept findings of visible / UV-A pairs, by observation.
    """
    made = _Making(state, tree, audience, pictures, kept)
    acts = {one.act for one in state.treatments.values()}
    for kind in _FIELDS:
        made.add_all(kind, without=late)
        if kind is Treatment:
            made.add_all(Observation, only={id_ for id_, act in late.items() if act in acts})
    return PublicRecord(made.folding.state, made.source, made.kept)


def numbered_frames(state: DossierState) -> frozenset[str]:
    """Name the photographs on which the serial number is to be seen, by what was entered.

    Those that a reading of the number rests on, and all of the part that carries it.
    """
    seen = [one for one in state.observations.values() if one.kind == "serial"]
    parts = {one.part for one in seen}
    named = {frame for one in seen for frame in one.frames}
    of_part = {one.id for one in state.photographs.values() if one.part in parts}
    return frozenset(named | of_part)


def shown_frames(state: DossierState) -> frozenset[str]:
    """Name the photographs that outsiders get.

    None that is private, and of those on which the number is to be seen none without a box over it.
    """
    covered = {one.frame for one in state.of(PictureBox).values() if one.hides == "number"}
    bare = numbered_frames(state) - covered
    return frozenset(
        one.id for one in state.photographs.values() if not one.private and one.id not in bare
    )


class _Making:
    def __init__(
        self,
        state: DossierState,
        tree: PartsTree,
        audience: Audience,
        pictures: Mapping[str, Plain],
        kept: Mapping[str, KeptFinding],
    ) -> None:
        self.state, self.audience = state, audience
        self.pictures, self.given = pictures, kept
        self.folding = Folding(tree)
        self.source: dict[str, str] = {}
        self.names: dict[str, str] = {}
        self.kept: dict[str, KeptFinding] = {}
        instrument = body_data(state.instrument)
        keys = (*_OF_INSTRUMENT, _CLAIM) if state.instrument.public else _OF_INSTRUMENT
        told = {key: instrument[key] for key in keys if key in instrument}
        self._enter("instrument", self._cleaned(told))

    def add_all(
        self,
        kind: type[Body],
        *,
        only: Collection[str] | None = None,
        without: Collection[str] = (),
    ) -> None:
        """Take in what outsiders are told of one kind, sorted and named anew."""
        prefix = _FIELDS[kind][0]
        rows = []
        for id_, body in self._standing(kind):
            if id_ in without or (only is not None and id_ not in only):
                continue
            plain = self._plain(body)
            rows.append((canonical_json(plain), id_, kind_of(body), plain))
        ordered = sorted(rows, key=lambda row: row[0])
        entered = sum(name.startswith(prefix) for name in self.source)
        for number, (_, id_, word, plain) in enumerate(ordered, start=entered + 1):
            name = f"{prefix}{number}"
            self.source[name], self.names[id_] = id_, name
            if id_ in self.given and kind is Observation:
                self.kept[name] = self._finish(id_)
            self._enter(word, {"id": name, **plain})

    def _enter(self, kind: str, plain: Plain) -> None:
        self.folding.add(kind, plain, kept=True, where=f"{kind} {plain.get('id', '')}")

    def _standing(self, kind: type[Body]) -> Iterable[tuple[str, Any]]:
        """What stands of a kind and counts: of several words on one matter the last.

        Each person's letter stands: the worse of two counts, for an outsider as in the shop.
        """
        found: list[Any] = [one for one in self.state.bodies() if type(one) is kind]
        if kind is Photograph:
            shown = shown_frames(self.state)
            found = [one for one in found if one.id in shown and one.id in self.pictures]
        elif kind in (PictureBox, PictureScale):
            found = [one for one in found if one.frame in self.names]
        elif kind is Statement:
            found = [one for one in found if one.public]
        elif kind is Grade:
            found = [one for aspect in grades(self.state) for one in aspect.by.values()]
        elif kind is WordingChoice:
            found = list({one.sentence: one for one in found if _of_part(one.sentence)}.values())
        elif kind is Consent:
            found = [self._leave(act) for act in {one.act for one in found}]
        elif kind in (RegionVerdict, RegionBorder):
            found = [one for one in found if self._spoken(one)]
            found = list({(one.look, one.region): one for one in found}.values())
        return [(one.id, one) for one in found]

    def _leave(self, act: str) -> Consent:
        """The owner's word on an act; an act that was done was allowed when it was done."""
        said = [one for one in self.state.consents.values() if one.act == act]
        if any(one.act == act for one in self.state.treatments.values()):
            said = [one for one in said if one.granted] or said
        return said[-1]

    def _spoken(self, one: Any) -> bool:
        if one.look not in self.given:
            return False
        told = spoken(self.state, one.look, self.given[one.look].data)
        aside = isinstance(one, RegionVerdict)
        return any((number, was) == (one.region, aside) for number, was, _, _ in told)

    def _plain(self, body: Any) -> Plain:
        kind = type(body)
        _, fields, words = _FIELDS[kind]
        data = body_data(body)
        names = (*fields, *words) if body.public else fields
        plain = dict(_WANTED.get(kind, {})) | {key: data[key] for key in names if key in data}
        if kind is Observation and body.kind == "serial":
            plain.pop("readings", None)
            if body.is_read:
                plain["text"] = _serial(body)
        elif "text" in plain and kind is Observation:
            plain["text"] = self.audience.text(str(plain["text"])).replace("•", UNREAD)
        if kind is Observation and body.id in self.given:
            plain["file"] = self._finish(body.id).data["digest"]
        if kind is Measurement and body.heard is not None and body.heard.note:
            plain["heard"] = {"note": body.heard.note}
        if kind is Photograph:
            picture = self.pictures[body.id]
            plain |= {**picture, "name": f"{str(picture['file'])[:12]}.jpg"}
        if kind in (PictureBox, PictureScale):
            plain["frame"] = self.names[body.frame]
        if kind in (RegionVerdict, RegionBorder):
            look = self.names[body.look]
            plain |= {"look": look, "finding": self.kept[look].data["digest"]}
            if kind is RegionBorder:
                plain["file"] = plain["finding"]
        if kind is Condition and body.frame in self.names:
            plain["frame"] = self.names[body.frame]
            plain |= {key: data[key] for key in ("x", "y") if key in data}
        if isinstance(body, Observation | Measurement | Contents):
            frames = sorted({self.names[one] for one in body.frames if one in self.names})
            plain |= {"frames": frames} if frames else {}
        return self._cleaned(plain)

    def _cleaned(self, plain: Plain) -> Plain:
        cleaned = self.audience.value(plain)
        assert isinstance(cleaned, dict)
        return cleaned

    def _finish(self, look: str) -> KeptFinding:
        """The finding of a pair, with a digest over what is shown of it."""
        one = self.given[look]
        frames = (str(one.data["visible"]), str(one.data["uv"]))
        further = [str(frame) for frame in one.data.get("further", ())]
        drawn = all(frame in self.names for frame in (*frames, *further))
        keys = _OF_FINISH + (_DRAWN if drawn else ())
        of_region = _OF_REGION + (_REGION_DRAWN if drawn else ())
        of_doubt = _OF_DOUBT + (_DOUBT_DRAWN if drawn else ())
        data = {key: one.data[key] for key in keys if key in one.data}
        data["regions"] = [
            {key: row[key] for key in of_region if key in row} for row in one.data["regions"]
        ]
        data["doubts"] = [
            {key: row[key] for key in of_doubt if key in row} for row in one.data.get("doubts", ())
        ]
        data["face"] = face_name(self.state, frames[1], other="face kept by the shop")
        for key, frame in zip(("visible", "uv"), frames, strict=True):
            data[key] = self.names[frame] if drawn else KEPT_BY_SHOP
        data["further"] = [self.names[frame] if drawn else KEPT_BY_SHOP for frame in further]
        cleaned = self._cleaned(data)
        cleaned["digest"] = sha256(canonical_json(cleaned))
        return replace(one, data=cleaned, pictures=one.pictures if drawn else {})


def typed_words(body: Body) -> dict[str, str]:
    """Words of an entry that go to outsiders where it is marked public, by field."""
    _, _, words = _FIELDS.get(type(body), ("", (), ()))
    data = body_data(body)
    return {one: str(data[one]) for one in words if isinstance(data.get(one), str)}


def _of_part(sentence: str) -> bool:
    return sentence.startswith("part:")


def _serial(seen: Observation) -> str:
    """A serial number as outsiders know it: its first characters and its length."""
    likeliest = max(seen.readings, key=lambda one: one.weight, default=None)
    text = seen.text or (likeliest.text if likeliest is not None else None) or ""
    return mask_serial(text).replace("•", UNREAD)
