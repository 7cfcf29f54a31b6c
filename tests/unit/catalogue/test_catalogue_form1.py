"""Entries of form 1 read through the converter: each matter, and what cannot be converted."""

import pytest

from heelstamp.catalogue import (
    CaseIncluded,
    Colour,
    Decision,
    Exposure,
    Folding,
    Grade,
    Issue,
    Measurement,
    PairMarks,
    Place,
    Price,
    Question,
    Recording,
    RegionBorder,
    RegionVerdict,
    ReturnVerdict,
    StringSet,
    TermsAgreed,
    TitleNote,
    TitleSearch,
    Treatment,
    Unconverted,
    WordingChoice,
    amount_words,
    quantity_words,
    sound_words,
)
from heelstamp.catalogue.bodies.quantities import QUANTITIES
from heelstamp.catalogue.form1 import convert_form1, typed
from heelstamp.errors import InputError

DIGEST = "ab" * 32
INSTRUMENT = {"kind": "guitar", "maker": "M", "model": "W", "chronology": "c", "tag": "H-0001"}


def measured(quantity, unit="mm", **more):
    body = {"id": "m", "quantity": quantity, "part": "neck", "value": 1.0, "unit": unit}
    read = convert_form1("measurement", {**body, "stage": "found", **more})
    assert isinstance(read, Measurement)
    return read


def decided(about, said, reason="why"):
    return convert_form1("decision", {"id": "d", "about": about, "decided": said, "reason": reason})


def treated(act, part="rod", **more):
    body = {"id": "t", "act": act, "part": part, "reason": "why", "reversible": True}
    return convert_form1("treatment", {**body, **more})


def heard(what, part=None, **more):
    body = {"id": "r", "file": DIGEST, "name": "r.flac", "media_type": "audio/flac", "what": what}
    return convert_form1("recording", {**body, **({"part": part} if part else {}), **more})


@pytest.mark.parametrize(
    ("words", "quantity", "place"),
    [
        ("relief at the 8th fret, capo at the 1st", "relief", Place(fret=8, capo=1)),
        ("relief at the 7th fret, held at the 16th", "relief", Place(fret=7, held=16)),
        ("action at the 12th fret, bass", "action", Place(fret=12, side="bass")),
        (
            "clearance over the 1st fret, held at the 3rd, 6th string",
            "clearance over the 1st fret",
            Place(held=3, string=6),
        ),
        (
            "clearance over the 1st fret, open, treble",
            "clearance over the 1st fret",
            Place(side="treble"),
        ),
        ("height of fret 17", "height of fret", Place(fret=17)),
        ("string diameter, 3rd", "string diameter", Place(string=3)),
        ("intonation at the 12th fret, 2nd string", "intonation", Place(fret=12, string=2)),
        ("saddle lowered, treble", "saddle lowered", Place(side="treble")),
    ],
)
def test_a_place_in_words(words, quantity, place):
    read = measured(words, "cent" if quantity == "intonation" else "mm")
    assert (read.quantity, read.place) == (quantity, place)
    assert quantity_words(read) == words
    assert not read.note


@pytest.mark.parametrize(
    ("words", "down", "strings"),
    [
        ("tuned down a semitone", 1.0, "on"),
        ("tuned down two tones", 4.0, "on"),
        ("tuned down 3 semitones", 3.0, "on"),
        ("strings off", 0.0, "off"),
        ("new strings, rod not turned", 0.0, "new"),
    ],
)
def test_the_condition_of_the_strings(words, down, strings):
    read = measured(f"relief at the 8th fret, {words}")
    assert (read.down, read.strings) == (down, strings)


def test_roles_and_a_time_told_by_the_device():
    assert measured("action at the 12th fret, bass, intended").role == "intended"
    late = measured(
        "temperature inside the case",
        "°C",
        note="probe; taken on the device at 2026-11-02T09:14:00Z",
    )
    assert (late.made, late.note) == ("2026-11-02T09:14:00Z", "probe")


def test_words_beyond_the_fields_stay_in_the_note():
    assert measured("relief at the 8th fret, seen from the bass side").note == (
        "entered as: relief at the 8th fret, seen from the bass side"
    )


def test_other_quantities_keep_their_words():
    assert measured("capacitance at 1 kHz", "µF").quantity == "capacitance at 1 kHz"
    assert measured("relief valve", "kΩ").quantity == "relief valve"
    assert measured("reliefs").quantity == "reliefs"


def test_the_jack_the_panel_and_a_pitch():
    jack = measured("resistance at the jack, neck pickup, volume swept, greatest", "kΩ").jack
    assert (jack.selector, jack.volume) == ("neck pickup", "swept")
    shot = measured("panel glow, red", "1", note="settings: f/8, 1/2 s; stray light taken away")
    assert (shot.panel.channel, shot.panel.settings) == ("red", "f/8, 1/2 s")
    assert (shot.panel.stray_light, shot.note) == ("taken away", "")
    pitch = measured(
        "pitch E2, recording r7", "Hz", note="+1.00 cents from E2. Finding 0123456789ab."
    )
    assert (pitch.heard.recordings, pitch.heard.note) == (["r7"], "E2")
    assert pitch.heard.finding == "0123456789ab"


def test_the_lamp_and_the_rod():
    on = treated("UV-A lamp", "finish", note="lamp on since 2026-11-04T10:00:00.000Z")
    assert isinstance(on, Exposure)
    assert (on.since, on.until, on.minutes) == ("2026-11-04T10:00:00.000Z", None, None)
    span = "lamp on from 2026-11-04T10:00:00.000Z to 2026-11-04T10:03:00.000Z"
    off = treated("UV-A lamp", "finish", minutes=3.0, note=span)
    assert (off.until, off.minutes) == ("2026-11-04T10:03:00.000Z", 3.0)
    assert treated("UV-A lamp", "finish", minutes=12.0).minutes == 12.0
    turn = treated("turn rod", amount="1/8 turn tighter", note="felt: creak")
    assert isinstance(turn, Treatment)
    assert (turn.turns, turn.felt, turn.note) == (0.125, "creak", "")
    assert amount_words(turn) == "1/8 turn tighter"
    assert treated("adjust rod", amount="0.25 slacker").turns == -0.25
    assert treated("turn rod", amount="0.1 turn, loosened").note == (
        "amount entered as: 0.1 turn, loosened"
    )
    for amount in ("a little", "1/8 turn", "1/0 turn tighter", ""):
        assert treated("turn rod", amount=amount).turns is None


def test_recordings():
    note = heard("note F#2, 6th string, at the 12th fret", "strings")
    assert isinstance(note, Recording)
    assert (note.sound, note.string, note.fret, note.note_name) == ("note", 6, 12, "F#2")
    assert sound_words(note) == "note F#2, 6th string, at the 12th fret"
    assert heard("switch, thrown five times", "switch").take == "sweep"
    assert heard("tone pot at rest", "pot_tone").take == "still"
    assert heard("tone pot at rest").sound is None
    voice = heard("voice note", note="on marks; taken on the device at 2026-11-02T09:14:00Z")
    assert (voice.sound, voice.screen, voice.made) == ("voice", "marks", "2026-11-02T09:14:00Z")


@pytest.mark.parametrize(
    ("about", "said", "reason", "kind", "fields"),
    [
        ("grade", "b", "why", Grade, {"grade": "B", "aspect": ""}),
        ("Grade: Frets", "C", "why", Grade, {"grade": "C", "aspect": "Frets"}),
        ("colour", "rare", "why", Colour, {"colour": "rare"}),
        ("case", "no", "why", CaseIncluded, {"included": False}),
        ("sold", "9,100 USD", "why", Price, {"amount": "9100", "currency": "USD"}),
        ("insured value", "10500", "why", Price, {"amount": "10500", "currency": None}),
        (
            "terms of consignment",
            DIGEST,
            "Terms of the whole shop; …",
            TermsAgreed,
            {"scope": "shop"},
        ),
        ("title note: a lien", "closed", "why", TitleNote, {"subject": "a lien", "open": False}),
        (
            "title search: Register X",
            "no hit on that day",
            "searched on 2026-11-12 for S1, S2",
            TitleSearch,
            {"register": "Register X", "hit": False, "day": "2026-11-12", "numbers": ["S1", "S2"]},
        ),
        ("words:part:neck", "strong", "why", WordingChoice, {"sentence": "part:neck"}),
        ("paper:report:buyer", DIGEST, "why", Issue, {"reader": "buyer", "file": DIGEST}),
        ("setup: new set", ".009 .011", "why", StringSet, {"which": "new"}),
        ("lamp:F1+F2", DIGEST, "why", PairMarks, {"visible": "F1", "uv": "F2"}),
        (
            "glow:o:1:0123456789abcdef:region 2",
            "set aside",
            "dust",
            RegionVerdict,
            {"look": "o:1", "finding": "0123456789abcdef", "region": 2},
        ),
        (
            "glow:o1:0123456789abcdef:region 2:border",
            DIGEST,
            "2.04 ± 0.11 cm² inside; along the edge",
            RegionBorder,
            {"file": DIGEST, "area_cm2": 2.04, "reason": "along the edge"},
        ),
        (
            "glow:o1:0123456789abcdef:region 2:border",
            "stands",
            "The program's border stands.",
            RegionBorder,
            {"file": None},
        ),
        ("question:neck", "It is.", "Is it?", Question, {"asked": "Is it?", "answer": "It is."}),
        ("task:neck", "looked at", "Is it?", Question, {"state": "looked at"}),
        (
            "return:plate",
            "changed",
            "a new dent; by eye, F1 and F9",
            ReturnVerdict,
            {"verdict": "changed", "left": "F1", "returned": "F9", "reason": "a new dent"},
        ),
        ("next layer", "Stop opening.", "why", Decision, {"about": "next layer"}),
    ],
)
def test_kinds_that_were_hidden_in_decisions(about, said, reason, kind, fields):
    read = decided(about, said, reason)
    assert isinstance(read, kind)
    assert {name: getattr(read, name) for name in fields} == fields


@pytest.mark.parametrize(
    ("about", "said"),
    [
        ("grade", "B+"),
        ("case", "perhaps"),
        ("other parts changed", "several"),
        ("sold", "a lot"),
        ("paper:report:buyer", "lost"),
        ("task:neck", "perhaps"),
        ("return:plate", "odd"),
    ],
)
def test_what_cannot_be_converted_is_kept_with_its_reason(about, said):
    read = decided(about, said)
    assert isinstance(read, Unconverted)
    assert (read.id, read.kind, read.body["decided"]) == ("d", "decision", said)
    assert read.reason


def test_what_was_no_body_of_form_1_is_refused_as_it_was():
    with pytest.raises(InputError, match="unknown field"):
        convert_form1("decision", {"id": "d", "about": "a", "decided": "b", "reason": "c", "x": 1})
    with pytest.raises(InputError, match="unknown field"):
        convert_form1("recording", {"id": "r", "sound": "voice"})
    with pytest.raises(InputError, match="no such kind"):
        convert_form1("grade", {"id": "g", "grade": "B", "reason": "r"})


def folded(*entries, form=1):
    folding = Folding()
    for kind, body in (("instrument", INSTRUMENT), *entries):
        folding.add(kind, body, form=form, where=kind)
    return folding.state


def said(id_, about, decided_):
    return "decision", {"id": id_, "about": about, "decided": decided_, "reason": "why"}


def test_an_unconverted_entry_stops_nothing_else():
    state = folded(said("d1", "grade", "B+"), said("d2", "colour", "rare"))
    assert list(state.unconverted) == ["d1"]
    assert state.last(Colour).colour == "rare"
    assert state.last(Grade) is None
    assert state.stands("d1")


def test_corrections_of_form_1_are_converted_with_what_they_replace():
    replaced = {"about": "grade", "decided": "C", "reason": "again"}
    correction = {"id": "c", "corrects": "d1", "reason": "again", "replacement": replaced}
    state = folded(said("d1", "grade", "B+"), ("correction", correction))
    assert not state.unconverted
    assert state.last(Grade).grade == "C"
    bad = {**correction, "replacement": {**replaced, "decided": "fair"}}
    state = folded(said("d1", "grade", "B"), ("correction", bad))
    assert list(state.unconverted) == ["d1"]
    assert state.last(Grade) is None


def test_today_an_unconverted_entry_may_be_withdrawn_and_not_replaced():
    folding = Folding()
    folding.add("instrument", INSTRUMENT, form=1, where="i")
    folding.add(*said("d1", "grade", "B+"), form=1, where="d1")
    correction = {"id": "c", "corrects": "d1", "reason": "anew"}
    with pytest.raises(InputError, match="could not be converted"):
        folding.enter("correction", {**correction, "replacement": {"grade": "B"}}, where="c")
    folding.enter("correction", {**correction, "replacement": None}, where="c")
    assert not folding.state.unconverted


@pytest.mark.parametrize(
    ("kind", "body", "remedy"),
    [
        ("decision", {"id": "d", "about": "grade", "decided": "B", "reason": "w"}, "grade = B"),
        (
            "measurement",
            {
                "id": "m",
                "quantity": "relief at the 8th fret",
                "part": "neck",
                "value": 0.4,
                "unit": "mm",
                "stage": "found",
            },
            "at.fret = 8",
        ),
    ],
)
def test_words_that_have_fields_are_refused_today(kind, body, remedy):
    folding = Folding()
    folding.add("instrument", INSTRUMENT, where="i")
    with pytest.raises(InputError, match=remedy):
        folding.enter(kind, body, where=kind)


def test_words_a_person_typed_are_read_into_fields():
    kind, body = typed("decision", {"id": "d", "about": "grade", "decided": "B", "reason": "w"})
    assert (kind, body) == ("grade", {"id": "d", "grade": "B", "reason": "w"})
    assert typed("decision", {"id": "d", "about": "neck", "decided": "Ask.", "reason": "w"}) is None
    assert typed("measurement", {"id": "m", "quantity": "capacitance"}) is None


def test_a_quantity_of_the_vocabulary_is_no_sentence_however_much_is_left_empty():
    body = {"id": "m", "quantity": "scale length", "part": "neck", "value": 641.4, "unit": "mm"}
    assert typed("measurement", {**body, "stage": "found", "temperature": None, "note": ""}) is None


@pytest.mark.parametrize("quantity", sorted(QUANTITIES))
def test_no_word_of_the_vocabulary_alone_is_a_sentence(quantity):
    unit = QUANTITIES[quantity].unit
    body = {"id": "m", "quantity": quantity, "part": "neck", "value": 1.0, "unit": unit}
    assert typed("measurement", {**body, "stage": "found"}) is None
