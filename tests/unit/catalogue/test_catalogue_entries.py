"""Bodies of all kinds: read, given back as they came, and refused with place and remedy."""

from typing import Any

import pytest

from heelstamp.catalogue import KINDS, Statement, body_data, body_id, parse_body, parse_time
from heelstamp.errors import InputError

DIGEST = "0" * 64
BODIES: dict[str, dict[str, Any]] = {
    "instrument": {"kind": "guitar", "maker": "m", "model": "Wherry", "chronology": "c"},
    "observation": {"id": "o1", "part": "neck", "kind": "mark", "status": "absent"},
    "measurement": {
        "id": "m1",
        "quantity": "relief",
        "part": "neck",
        "value": -0.1,
        "unit": "mm",
        "stage": "found",
        "uncertainty": 0.03,
        "temperature": 24.5,
    },
    "treatment": {
        "id": "t1",
        "act": "clean",
        "part": "pot_tone",
        "reason": "crackle",
        "reversible": False,
    },
    "photograph": {
        "id": "F1",
        "file": DIGEST,
        "name": "a.jpg",
        "media_type": "image/jpeg",
        "width": 40,
        "height": 30,
        "taken": "2026-11-02T09:14:00+01:00",
    },
    "picture_box": {
        "id": "h1",
        "frame": "F1",
        "x": 0.1,
        "y": 0.2,
        "width": 0.3,
        "height": 0.1,
        "hides": "grain",
    },
    "picture_scale": {
        "id": "h2",
        "frame": "F1",
        "x0": 0.1,
        "y0": 0.2,
        "x1": 0.6,
        "y1": 0.2,
        "length_mm": 100.0,
    },
    "recording": {
        "id": "R1",
        "file": DIGEST,
        "name": "a.wav",
        "media_type": "audio/wav",
        "what": "sweep",
    },
    "consent": {"id": "c1", "act": "lift guard", "granted": True, "by": "a consignor"},
    "custody": {
        "id": "k1",
        "event": "received",
        "giver": "a consignor",
        "receiver": "examiner A",
        "weight_g": 3284,
        "weight_uncertainty_g": 2,
    },
    "contents": {"id": "i1", "item": "docket", "link": "unrelated"},
    "statement": {
        "id": "s1",
        "role": "consignor",
        "about": "strings",
        "text": "ten years",
        "signed": True,
    },
    "decision": {"id": "d1", "about": "neck", "decided": "take off", "reason": "asked"},
    "screw": {"id": "v1", "part": "guard", "opening": "guard", "number": 1, "x": 0.5, "y": 0.25},
    "exposure": {"id": "e1", "part": "finish", "minutes": 3.0},
    "string_set": {"id": "n1", "reason": "named", "which": "new", "strings": ".009 .042"},
    "pair_marks": {"id": "l1", "visible": "F1", "uv": "F2", "file": DIGEST},
    "region": {
        "id": "g1",
        "reason": "dust",
        "look": "o1",
        "finding": DIGEST,
        "region": 2,
        "verdict": "set aside",
    },
    "border": {"id": "g2", "look": "o1", "finding": DIGEST, "region": 2, "file": DIGEST},
    "condition": {
        "id": "k1",
        "damage": "chip",
        "material": "finish",
        "face": "front",
        "visit": "exit",
        "since": "appeared",
        "frame": "F1",
        "x": 0.5,
        "y": 0.25,
        "length_mm": 4.0,
        "width_mm": 2.0,
        "same_as": "k0",
    },
    "face_looked": {"id": "k2", "face": "back"},
    "difference_look": {"id": "k3", "before": "f1", "after": "f2", "it_is": "light"},
    "work_plan": {
        "id": "k4",
        "acts": [{"act": "fit strings", "part": "strings"}],
        "signed": "2026-11-02",
        "by": "owner",
    },
    "grade": {"id": "a1", "reason": "wear", "grade": "B", "aspect": "frets"},
    "colour": {"id": "a2", "reason": "usual", "colour": "standard"},
    "case_included": {"id": "a3", "reason": "slate", "included": True},
    "changed_parts": {"id": "a4", "reason": "counted", "count": 2},
    "price": {"id": "a5", "reason": "agreed", "of": "sold", "amount": "9100", "currency": "USD"},
    "terms": {"id": "a6", "reason": "agreed", "file": DIGEST, "scope": "shop"},
    "agreement": {
        "id": "t1",
        "role": "a consignor",
        "terms": DIGEST,
        "how": "on paper",
        "day": "2026-11-02",
    },
    "tax": {"id": "t2", "reason": "bought", "scheme": "margin", "bought": "1", "currency": "USD"},
    "enquiry": {"id": "t3", "party": "enquirer 1", "event": "waits", "day": "2026-11-02"},
    "packing": {
        "id": "t4",
        "day": "2026-11-02",
        "route": "US",
        "weight_g": 6200.0,
        "length_mm": 1200.0,
        "width_mm": 450.0,
        "height_mm": 180.0,
        "frames": ["f1"],
    },
    "transit_log": {"id": "t5", "file": DIGEST, "name": "l.csv", "room_c": 20.0, "room_rh": 45.0},
    "title_search": {"id": "a7", "register": "X", "hit": False, "day": "2026-11-12"},
    "title_note": {"id": "a8", "reason": "told", "subject": "a lien", "open": True},
    "near_number": {"id": "a9", "reason": "seen", "number": "S1", "settled": "another plate"},
    "material": {"id": "b1", "reason": "asked", "rule": "rosewood", "answer": "not for export"},
    "materials_looked": {"id": "b2", "reason": "looked", "found": "none seen"},
    "wording": {"id": "w1", "reason": "cautious", "sentence": "part:neck", "word": "moderate"},
    "paper": {"id": "p1", "reader": "buyer", "file": DIGEST},
    "question": {"id": "q1", "question": "neck", "asked": "Is it?", "state": "looked at"},
    "later_known": {
        "id": "y1",
        "about": "date",
        "source": "an invented ledger",
        "months": ["1965-06", "1965-06"],
        "half": ["1965-06", "1965-08"],
        "nine_tenths": ["1965-04", "1965-09"],
    },
    "owner": {"id": "j1", "role": "a consignor", "ending": "417", "signed": "2026-11-02"},
    "sale": {
        "id": "j2",
        "event": "payment",
        "day": "2026-11-20",
        "party": "buyer B",
        "amount": "500",
        "currency": "USD",
        "of": "deposit",
        "means": "transfer",
    },
    "return_verdict": {"id": "z1", "slot": "plate", "verdict": "same", "left": "F1"},
    "issue": {
        "id": "i1",
        "reader": "buyer",
        "day": "2026-11-09",
        "files": {"examination.json": "a" * 64},
        "ledger": "b" * 64,
        "source": {"o1": "o7"},
    },
    "clock": {"id": "clock1", "clock": "unsure", "last": "2026-11-02T09:14:00Z"},
    "correction": {"id": "x1", "corrects": "o1", "reason": "slip", "replacement": None},
}


def test_the_samples_cover_every_kind() -> None:
    assert set(BODIES) == set(KINDS)


@pytest.mark.parametrize("kind", BODIES)
def test_a_body_is_given_back_as_it_came(kind: str) -> None:
    assert body_data(parse_body(kind, BODIES[kind])) == BODIES[kind]


@pytest.mark.parametrize("kind", BODIES)
def test_a_body_cannot_be_changed(kind: str) -> None:
    body = parse_body(kind, BODIES[kind])
    with pytest.raises(AttributeError):
        body.id = "other"  # type: ignore[union-attr]


@pytest.mark.parametrize("kind", BODIES)
def test_an_unknown_field_is_refused_and_named(kind: str) -> None:
    with pytest.raises(InputError, match="sample, field shade: unknown field") as caught:
        parse_body(kind, {**BODIES[kind], "shade": "red"}, where="sample")
    assert caught.value.received == "red"


@pytest.mark.parametrize("kind", BODIES)
def test_every_missing_field_is_named(kind: str) -> None:
    for field in KINDS[kind].__struct_fields__:
        bare = {name: value for name, value in BODIES[kind].items() if name != field}
        if field in BODIES[kind] and field in KINDS[kind].__struct_fields__[: _required(kind)]:
            with pytest.raises(InputError, match=f"field {field}: missing field"):
                parse_body(kind, bare)


def _required(kind: str) -> int:
    record = KINDS[kind]
    return len(record.__struct_fields__) - len(record.__struct_defaults__)


@pytest.mark.parametrize(
    ("kind", "change", "message"),
    [
        ("measurement", {"unit": "furlong"}, "field unit: unknown unit"),
        ("measurement", {"value": float("nan")}, "field unit: a quantity must be finite"),
        ("measurement", {"unit": "kΩ", "value": -1}, "a resistance cannot be so low"),
        ("measurement", {"unit": "°C", "value": -300}, "a temperature cannot be so low"),
        ("measurement", {"temperature": -300}, "colder than absolute zero"),
        ("measurement", {"uncertainty": -0.1}, "field uncertainty"),
        ("measurement", {"stage": "after"}, "Use one of: found, plan, final"),
        ("photograph", {"taken": "2026-02-30T09:14:00"}, "field taken: not a date and time"),
        ("photograph", {"file": "abc"}, "field file"),
        ("photograph", {"width": 0}, "field width"),
        ("photograph", {"media_type": "text/html"}, "field media_type"),
        ("photograph", {"light": "moon"}, "visible, raking, UV-A, infrared, transmitted"),
        ("recording", {"media_type": "image/png"}, "field media_type"),
        ("custody", {"event": "sold"}, "field event: no such custody event"),
        ("custody", {"giver": " "}, "does not name the giver"),
        ("custody", {"weight_g": None}, "an uncertainty without a weight"),
        ("custody", {"weight_g": -3}, "field weight_g"),
        ("contents", {"link": "near"}, "names serial, same period, unrelated"),
        ("correction", {"corrects": "x1"}, "a correction cannot correct itself"),
        ("consent", {"granted": "yes"}, r"field granted: value of the wrong kind \(received: yes"),
        ("statement", {"id": "two words"}, "field id"),
        ("instrument", {"tag": "no/slash"}, "field tag"),
        ("decision", {"reason": "  "}, "field reason"),
        ("measurement", {"unit": "kg", "value": 1}, "relief is not measured in kg"),
        ("measurement", {"jack": {"volume": "full"}}, "field jack: relief has no such field"),
        (
            "measurement",
            {"quantity": "scale length", "at": {"fret": 3}},
            "scale length has no fret",
        ),
        (
            "measurement",
            {"quantity": "hum", "jack": {"volume": "full"}},
            "field jack: hum has no such field",
        ),
        (
            "measurement",
            {"quantity": "resistance at the jack", "unit": "kΩ", "value": 6},
            "field jack: resistance at the jack does not say how it was read",
        ),
        ("measurement", {"at": {"string": 0}}, "field at.string"),
        ("measurement", {"made": "2026-13-02T09:14:00Z"}, "field made: not a date and time"),
        ("treatment", {"turns": 0.125, "amount": "1/8 turn"}, "an amount said twice"),
        ("exposure", {"minutes": None}, "does not say how long"),
        ("exposure", {"since": "2026-11-04T10:00:00Z"}, "has an end and minutes, or neither"),
        (
            "exposure",
            {"since": "2026-11-04T10:00:00Z", "until": "2026-11-04T09:00:00Z"},
            "ends before it began",
        ),
        ("recording", {"what": ""}, "does not say its what"),
        ("recording", {"sound": "note", "string": 1}, "does not say its fret"),
        ("recording", {"screen": "marks"}, "field screen: a recording .other. has no such field"),
        ("border", {"file": None, "area_cm2": 2.0}, "an area without a border"),
        ("grade", {"grade": "F"}, "Use one of: A, B, C, D, E"),
        ("price", {"amount": "9,100"}, "field amount"),
        ("price", {"currency": "dollar"}, "field currency"),
        (
            "observation",
            {
                "kind": "sign",
                "sign": "s",
                "status": "read",
                "outcome": "x",
                "turned": 3,
                "judged": 2,
            },
            "of those that could be judged",
        ),
    ],
)
def test_values_that_cannot_be_are_refused(kind: str, change: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_body(kind, {**BODIES[kind], **change})


@pytest.mark.parametrize("data", [None, [], "text", 3])
def test_a_body_is_a_table(data: Any) -> None:
    with pytest.raises(InputError, match="not a table of fields"):
        parse_body("decision", data)


def test_an_unknown_kind_offers_the_nearest() -> None:
    with pytest.raises(InputError, match='Did you mean "observation"'):
        parse_body("observaton", {})


def test_the_instrument_is_named_instrument() -> None:
    assert body_id(parse_body("instrument", BODIES["instrument"])) == "instrument"


@pytest.mark.parametrize("text", ["2026-13-01T00:00:00Z", "2025-02-29T00:00:00Z", "yesterday", ""])
def test_a_time_that_is_not_in_the_calendar_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="not a date and time"):
        parse_time(text)


def _statement(**fields: object) -> dict[str, object]:
    plain = {"id": "s1", "role": "owner", "about": "neck", "text": "It is said.", "signed": False}
    return {**plain, **fields}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("a\0b", "U+0000, character 2"),
        ("\x1b[31m", "U+001B, character 1"),
        ("a\r\nb", "U+000D, character 2"),
        ("ab\x7f", "U+007F, character 3"),
        ("a\x85", "U+0085, character 2"),
        ("\ufffe", "U+FFFE, character 1"),
        ("x\ufdd0", "U+FDD0, character 2"),
        ("\U0001ffff", "U+1FFFF, character 1"),
        ("\U0010fffe", "U+10FFFE, character 1"),
        ("half \ud83d", "U+D83D, character 6"),
    ],
)
@pytest.mark.parametrize("field", ["text", "role"])
def test_what_is_no_text_is_refused_with_its_field_and_place(
    field: str, text: str, code: str
) -> None:
    with pytest.raises(InputError, match="no text") as caught:
        parse_body("statement", _statement(**{field: text}), where="entry 4")
    assert caught.value.where == f"entry 4, field {field}"
    assert caught.value.received == code
    assert caught.value.remedy


def test_it_is_found_at_any_depth_and_in_names() -> None:
    body = {"id": "c1", "corrects": "o1", "reason": "slip", "replacement": {"note": ["a", "\0"]}}
    with pytest.raises(InputError, match=r"field replacement\.note\[1\]"):
        parse_body("correction", body)
    body["replacement"] = {"a\0": 1}
    with pytest.raises(InputError, match=r"field replacement\.'a\\x00'"):
        parse_body("correction", body)


@pytest.mark.parametrize(
    "text",
    [
        "🎸👩🏽‍🔧",
        "검사자 가",
        "فحص القطعة",
        "\u200fمائل\u200e",
        "e\u0301",
        "①",
        "\u2028",
        "\ue000",
        "\ufffd",
    ],
)
def test_everything_else_is_kept(text: str) -> None:
    body = parse_body("statement", _statement(text=f"say {text}", role=f"owner {text}"))
    assert isinstance(body, Statement)
    assert (body.text, body.role) == (f"say {text}", f"owner {text}")


def test_line_feed_and_tab_stand_in_long_texts_alone() -> None:
    assert parse_body("statement", _statement(text="one\ntwo\tthree"))
    for field in ("role", "about", "id"):
        for text in ("neck\n", "neck\tplate"):
            with pytest.raises(InputError, match=f"field {field}"):
                parse_body("statement", _statement(**{field: text}))


def test_what_stands_in_a_journal_already_is_read_as_it_is() -> None:
    body = parse_body("statement", _statement(text="a\0b"), kept=True)
    assert isinstance(body, Statement)
    assert body.text == "a\0b"
    with pytest.raises(InputError, match=r"field signed: a character that is no text"):
        parse_body("statement", _statement(signed="half \ud83d"), kept=True)
