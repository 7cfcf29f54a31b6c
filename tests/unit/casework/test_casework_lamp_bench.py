"""The lamp's page without a browser: pairs, drawings, the clock, what is said of regions."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from heelstamp.casework.dose_clock import (
    clock_of,
    irradiance_entries,
    lamp_on,
    limit_words,
    off_entries,
    on_entries,
)
from heelstamp.casework.finish.borders import area_of, checked_border, crosses_itself
from heelstamp.casework.lamp import lamp_log
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.casework.uv_lamp.marks import (
    Marks,
    file_of,
    kept_marks,
    marks_entries,
    read_marks,
    thin,
    told_of,
)
from heelstamp.casework.uv_lamp.pairs import chosen_pair, proposed_pairs, words_of
from heelstamp.casework.uv_lamp.panel_view import has_panel, panel_view
from heelstamp.casework.uv_lamp.regions import drawn_polygon
from heelstamp.catalogue import DossierState, Exposure, Folding, PartsTree
from heelstamp.errors import ConflictError, InputError
from heelstamp.reference.photo_plan import load_photo_plan

SIZE = (1000, 800)
NOON = "2026-11-04T12:00:00Z"
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": "W-0001",
}


class Book:
    """A journal in memory to which acts are entered at a time."""

    def __init__(self, tree: PartsTree) -> None:
        self.folding = Folding(tree)
        self.enter([("instrument", INSTRUMENT)])

    def enter(self, acts: list[tuple[str, dict[str, Any]]], at: str = NOON) -> DossierState:
        for kind, body in acts:
            self.folding.add(kind, body, at=at, by="examiner A", digest="0" * 64, where=kind)
        return self.folding.state

    def frame(self, id_: str, slot: str, light: str = "visible") -> DossierState:
        body = {
            "id": id_,
            "file": "0" * 64,
            "name": f"{id_}.jpg",
            "media_type": "image/jpeg",
            "width": SIZE[0],
            "height": SIZE[1],
            "slot": slot,
            "light": light,
            "part": "finish",
        }
        return self.enter([("photograph", body)])


@pytest.fixture
def book(guitar: PartsTree) -> Book:
    return Book(guitar)


def test_the_newest_frames_of_a_face_are_proposed(book: Book) -> None:
    book.frame("F1", "uv-front-visible")
    book.frame("F2", "uv-front", "UV-A")
    book.frame("F3", "uv-front", "UV-A")
    book.frame("F4", "uv-back-visible")
    book.frame("F5", "uv-edges-visible-2")
    book.frame("F6", "uv-edges-2", "UV-A")
    book.frame("F7", "panel", "UV-A")
    state = book.frame("F8", "", "UV-A")
    rows = {one.face: one for one in proposed_pairs(state, load_photo_plan())}
    told = {
        face: (one.visible and one.visible.id, one.uv and one.uv.id) for face, one in rows.items()
    }
    assert told == {
        "front": ("F1", "F3"),
        "back": ("F4", None),
        "edges 1": (None, None),
        "edges 2": ("F5", "F6"),
        "headstock": (None, None),
        "neck back": (None, None),
        "under pickguard": (None, None),
        "face in F8": (None, "F8"),
    }
    assert words_of(rows["front"]) == "not compared"
    assert words_of(rows["back"]) == "no frame under UV-A yet"
    pair = chosen_pair(state, load_photo_plan(), "F4", "F2")
    assert pair.whole
    with pytest.raises(InputError, match="not a frame in UV-A light"):
        chosen_pair(state, load_photo_plan(), "F1", "F4")
    with pytest.raises(InputError, match="no such frame"):
        chosen_pair(state, load_photo_plan(), "F1", "F99")


def test_a_drawing_is_kept_whole_and_read_back(book: Book) -> None:
    book.frame("F1", "uv-front-visible")
    state = book.frame("F2", "uv-front", "UV-A")
    pair = chosen_pair(state, load_photo_plan(), "F1", "F2")
    told = {
        "outline": [[10, 10], [900, 12], [880, 700]],
        "parts": [{"name": "guard", "polygon": [[100, 100], [200, 100], [150, 220]]}],
        "ruler": [10, 790, 910, 790, 90],
        "greys": [[5, 5, 45, 45, 0.18]],
        "points": [[1, 1, 2, 2], [900, 1, 901, 2], [900, 700, 901, 701], [1, 700, 2, 701]],
    }
    marks = read_marks(json.dumps(told), size=SIZE)
    request = marks.request()
    assert request.scale is not None
    assert request.scale.px_per_mm == pytest.approx(10.0)
    assert (len(request.greys), len(request.points)) == (1, 4)
    assert request.masks is not None
    assert request.masks.parts[0][0] == "guard"
    data = file_of(marks, pair)
    assert kept_marks(data, "x") == marks
    stamp = EntryStamp("d1", "", NOON)
    ((kind, body),) = marks_entries(state, stamp, pair, marks, "a" * 64)
    assert (kind, body["visible"], body["uv"], body["file"]) == ("pair_marks", "F1", "F2", "a" * 64)
    state = book.enter([(kind, body)])
    assert (
        marks_entries(state, EntryStamp("d2", "", NOON), pair, marks, "a" * 64) == []
    )  # stands already
    assert told_of(Marks()) == "no outline, no scale, no grey standard"


@pytest.mark.parametrize(
    "text",
    [
        "[]",
        "{",
        "null",
        '{"outline": 3}',
        '{"outline": [[1, 2], [3, 4]]}',
        '{"more": 1}',
        '{"outline": [[NaN, 2], [3, 4], [5, 9]]}',
        '{"outline": [[1e9, 2], [3, 4], [5, 9]]}',
        '{"parts": [{"name": "x", "polygon": [[1, 2], [3, 4], [5, 9]]}]}',
        '{"outline":[[1,2],[3,4],[5,9]],"parts":[{"name":"\\u0007","polygon":[[1,2],[3,4],[5,9]]}]}',
        '{"ruler": [1, 1, 1, 1, 90]}',
        '{"ruler": [1, 1, 500, 1, 0]}',
        '{"ruler": [1, 1, 500, 1]}',
        '{"greys": [[5, 5, 45, 45, 9]]}',
        '{"greys": [[45, 5, 5, 45, 0.5]]}',
        '{"points": [[1, 1, 2, 2]]}',
        '{"points": [[1, 1, 1e12, 2], [1, 5, 2, 2], [9, 1, 2, 2], [1, 7, 2, 2]]}',
    ],
)
def test_a_drawing_that_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_marks(text, size=SIZE)


def test_thinning_keeps_the_shape() -> None:
    turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    circle = np.column_stack([500 + 300 * np.cos(turn), 400 + 300 * np.sin(turn)]).tolist()
    thinned = thin(circle, 0.75)
    assert 20 < len(thinned) < 100
    whole, _ = area_of(circle, 1.0)
    less, _ = area_of(thinned, 1.0)
    assert whole is not None
    assert less == pytest.approx(whole, rel=0.005)
    assert thin([[0, 0], [1, 0], [1, 1]], 5.0) == [[0, 0], [1, 0], [1, 1]]


def test_the_clock_counts_between_the_taps_of_the_device(book: Book) -> None:
    state = book.enter([])
    assert clock_of(state, NOON).level is None
    assert "Enter the irradiance" in limit_words(clock_of(state, NOON))
    state = book.enter(irradiance_entries(state, EntryStamp("m1", "", NOON), 30.0))
    clock = clock_of(state, NOON)
    assert clock.limit_s == pytest.approx(10_000 / 30)  # ICNIRP 2004: 10⁴ J/m² within eight hours
    assert clock.warn_s == pytest.approx(0.8 * 10_000 / 30)
    state = book.enter(on_entries(state, EntryStamp("t1", "2026-11-04T12:00:00.000Z", NOON)))
    assert clock_of(state, NOON).since == "2026-11-04T12:00:00.000Z"
    with pytest.raises(ConflictError, match="on already"):
        on_entries(state, EntryStamp("t2", "", NOON))
    # sent late by a device without a connection: the time of the tap counts
    late = EntryStamp("c1", "2026-11-04T12:02:30.000Z", "2026-11-04T13:00:00Z")
    state = book.enter(off_entries(state, late), at="2026-11-04T13:00:00Z")
    assert lamp_on(state) is None
    lit = state.of(Exposure)["t1"]
    assert lit.minutes == pytest.approx(2.5)
    assert (lit.since, lit.until) == ("2026-11-04T12:00:00.000Z", "2026-11-04T12:02:30.000Z")
    (day,) = lamp_log(state).days
    assert day.dose.received == pytest.approx(30 * 150)
    assert clock_of(state, "2026-11-04T14:00:00Z").earlier_s == pytest.approx(150)
    assert clock_of(state, "2026-11-05T08:00:00Z").earlier_s == 0.0
    with pytest.raises(ConflictError, match="is off"):
        off_entries(state, EntryStamp("c2", "", NOON))
    assert off_entries(state, late) == []  # the same tap twice is one entry


@pytest.mark.parametrize("level", [0.0, -1.0, 1e9])
def test_an_irradiance_that_no_lamp_has_is_refused(book: Book, level: float) -> None:
    with pytest.raises(InputError, match="irradiance"):
        irradiance_entries(book.enter([]), EntryStamp("m1", "", NOON), level)


def test_a_lamp_forgotten_over_night_is_not_counted_blindly(book: Book) -> None:
    state = book.enter(on_entries(book.enter([]), EntryStamp("t1", "", NOON)))
    with pytest.raises(InputError, match="cannot be"):
        off_entries(state, EntryStamp("c1", "", "2026-11-05T08:00:00Z"))
    with pytest.raises(InputError, match="cannot be"):
        off_entries(state, EntryStamp("c1", "2026-11-04T11:00:00Z", "2026-11-04T12:30:00Z"))


def test_a_clock_of_a_device_that_runs_ahead_does_not_reach_into_the_future(book: Book) -> None:
    state = book.enter(on_entries(book.enter([]), EntryStamp("t1", "2031-01-01T00:00:00Z", NOON)))
    assert clock_of(state, NOON).since == "2026-11-04T12:00:00.000Z"


def test_the_area_of_a_border_by_hand() -> None:
    square = [(100.0, 100.0), (300.0, 100.0), (300.0, 200.0), (100.0, 200.0)]
    area, doubt = area_of(square, 10.0)
    assert area == pytest.approx(2.0)  # 20 mm by 10 mm
    # twice 1 % of the scale; the line known to 2 px along a third of its 600 px: 400 of 20 000 px
    assert doubt == pytest.approx(2.0 * np.hypot(0.02, 0.02))
    assert area_of(square[::-1], 10.0)[0] == pytest.approx(2.0)
    assert area_of(square, None) == (None, None)
    assert checked_border(square, (400, 400)) == tuple(square)
    knot = [(100.0, 100.0), (300.0, 200.0), (300.0, 100.0), (100.0, 210.0)]
    for wrong in (knot, square[:2], [*square[:3], (500.0, 100.0)], [(1.0, 1.0)] * 4, square * 600):
        with pytest.raises(InputError):
            checked_border(wrong, (400, 400))
    assert drawn_polygon(" ") == ()
    assert drawn_polygon("[[1, 2.5], [3, 4], [5, 6]]") == ((1.0, 2.5), (3.0, 4.0), (5.0, 6.0))
    for text in ("{}", "[[1]]", '[["a", 2]]', "[[NaN, 1]]", "]"):
        with pytest.raises(InputError):
            drawn_polygon(text)


def test_a_border_that_crosses_itself_is_told_from_one_that_does_not() -> None:
    turn = np.linspace(0, 2 * np.pi, 1000, endpoint=False)
    star = np.column_stack([np.cos(turn), np.sin(turn)]) * (2 + np.sin(9 * turn))[:, None]
    assert not crosses_itself(star.tolist())
    assert crosses_itself(star[np.r_[0:500, 520:500:-1, 521:1000]].tolist())
    assert not crosses_itself([(0, 0), (2, 0), (1, 0.5), (2, 1), (0, 1)])  # a notch


def test_the_panel_is_due_after_a_week(book: Book) -> None:
    assert panel_view(book.frame("P1", "panel", "UV-A"), NOON).unmeasured == ("P1",)
    acts = [
        (
            "measurement",
            {
                "id": f"p-{channel}",
                "quantity": "panel glow",
                "panel": {"channel": channel, "settings": "1/4 s", "stray_light": "taken away"},
                "part": "finish",
                "value": 0.4,
                "unit": "1",
                "stage": "found",
                "uncertainty": 0.01,
                "frames": ["P1"],
            },
        )
        for channel in ("red", "green", "blue")
    ]
    state = book.enter(acts)
    soon, later = panel_view(state, "2026-11-08T12:00:00Z"), panel_view(state, "2026-11-11T12:00Z")
    assert (soon.due, later.due) == (False, True)
    assert soon.unmeasured == ()
    assert "4 days ago" in soon.last
    assert has_panel(state)
