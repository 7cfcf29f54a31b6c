"""From a dossier's observations to evidence: nothing dropped in silence, nothing counted twice."""

import pytest

from fakes.wherry_examinations import Body, look, state_of, tables, translated, wherry
from heelstamp.casework.dating import mark_periods
from heelstamp.casework.dating.translation import DOCUMENT_RELIABILITY
from heelstamp.dating import Document, FeatureSeen, Mark, SerialNumber, SignSeen, StateLikelihood
from heelstamp.errors import InputError
from heelstamp.units import Period, parse_month


def evidence(*bodies: Body) -> list[object]:
    """Everything that observations give, in order."""
    return [item for one in translated(list(bodies)).values() for item in one.evidence]


def why_not(body: Body) -> str | None:
    found = translated([body])[body["id"]]
    assert found.evidence == []
    return found.why_not


STATUS = {
    "not looked": "not looked at",
    "absent": "looked for and absent",
    "illegible": "looked at and illegible",
    "not applicable": "not applicable to this instrument",
}


@pytest.mark.parametrize("status", STATUS)
@pytest.mark.parametrize(
    ("kind", "part", "content"),
    [
        ("mark", "neck", {}),
        ("feature", "neck", {"feature": "f12"}),
        ("serial", "neck_plate", {}),
        ("sign", "bridge", {"sign": "bridge_ghost_line"}),
        ("document", "case", {}),
    ],
)
def test_four_facts_besides_read(status: str, kind: str, part: str, content: Body) -> None:
    """Each gives its own reason and no evidence."""
    assert why_not(look("o", part, kind, status, **content)) == STATUS[status]


@pytest.mark.parametrize(
    ("status", "content", "variant"),
    [
        ("absent", {}, "absent"),
        ("illegible", {}, "present"),
        ("read", {"text": "VIII 61"}, "present"),
        ("not looked", {}, None),
        ("not applicable", {}, None),
    ],
)
def test_what_became_of_the_body_mark_is_a_feature(
    status: str, content: Body, variant: str | None
) -> None:
    """The pencil mark on the body went out of use: its absence dates, *not looked* does not."""
    found = evidence(look("m", "body", "mark", status, **content))
    features = [one for one in found if isinstance(one, FeatureSeen)]
    assert features == ([] if variant is None else [FeatureSeen("g4", variant)])


def test_a_mark_elsewhere_shows_no_such_feature() -> None:
    assert why_not(look("m", "neck", "mark", "absent")) == STATUS["absent"]


@pytest.mark.parametrize(
    ("text", "variant"), [("3046519", "304"), ("137-6-43", "137"), ("134434", "134")]
)
def test_a_source_code_is_a_feature_too(text: str, variant: str) -> None:
    found = evidence(look("m", "pot_volume", "mark", text=text))
    assert FeatureSeen("g1@pot_volume", variant) in found
    assert any(isinstance(one, Mark) for one in found)


def test_a_source_the_maker_never_used_is_no_factory_variant() -> None:
    found = evidence(look("m", "pot_tone", "mark", text="1061234", reader="source-date"))
    assert FeatureSeen("g1@pot_tone", "other") in found


@pytest.mark.parametrize(("text", "variant"), [("S10350", "S"), ("8754", "none"), ("S 103?0", "S")])
def test_a_serial_shows_its_prefix(text: str, variant: str) -> None:
    found = evidence(look("s", "neck_plate", "serial", text=text))
    assert FeatureSeen("g2", variant) in found
    assert any(isinstance(one, SerialNumber) for one in found)


def test_a_serial_falls_on_the_month_of_its_knots() -> None:
    """S08000 stands for Aug 1964 and S13000 for Feb 1966 (invented): S10350 is 47 % of the way."""
    (number,) = [
        one
        for one in evidence(look("s", "neck_plate", "serial", text="S10350"))
        if isinstance(one, SerialNumber)
    ]
    assert number.months == ((parse_month("1964-08") + int(18 * 0.47), 1.0),)


def test_an_unread_digit_is_every_digit() -> None:
    (number,) = [
        one
        for one in evidence(look("s", "neck_plate", "serial", text="S1?350"))
        if isinstance(one, SerialNumber)
    ]
    months = [month for month, _ in number.months]
    assert months == sorted(months)
    assert len(months) > 5
    assert parse_month("1965-04") in months


def test_two_readings_of_a_serial_keep_their_weights() -> None:
    readings = [{"text": "S10350", "weight": 0.8}, {"text": "S18000", "weight": 0.2}]
    (number, *_) = evidence(look("s", "neck_plate", "serial", readings=readings))
    assert dict(number.months) == {parse_month("1965-04"): 0.8, parse_month("1968-02"): 0.2}


def test_an_entered_feature_and_the_serial_that_shows_it_count_once() -> None:
    serial = look("s", "neck_plate", "serial", text="S10350")
    entered = look("p", "neck_plate", "feature", feature="g2", variant="S")
    for order in ([serial, entered], [entered, serial]):
        found = evidence(*order)
        assert sum(isinstance(one, FeatureSeen) for one in found) == 1


@pytest.mark.parametrize("link", ["same period", "unrelated"])
def test_a_paper_that_does_not_name_the_serial_is_not_used(link: str) -> None:
    paper = look("d", "case", "document", not_after="1988-12", reliability=0.9, link=link)
    assert "its number is not on it" in (why_not(paper) or "")


def test_a_paper_that_names_the_serial() -> None:
    paper = look(
        "d", "case", "document", not_before="1965-06", not_after="1965-08", link="names serial"
    )
    assert evidence(paper) == [Document(Period.parse(["1965-06", "1965-08"]), DOCUMENT_RELIABILITY)]
    open_ended = look(
        "d", "case", "document", not_after="1966-01", reliability=0.5, link="names serial"
    )
    assert evidence(open_ended) == [
        Document(Period(wherry().completion.first, parse_month("1966-01")), 0.5)
    ]


@pytest.mark.parametrize("reliability", [0.0, 1.0])
def test_a_paper_is_neither_worthless_nor_beyond_doubt(reliability: float) -> None:
    paper = look(
        "d", "case", "document", not_after="1966-01", reliability=reliability, link="names serial"
    )
    assert "neither worthless nor beyond doubt" in (why_not(paper) or "")


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (look("o", "neck", "feature", feature="f99", variant="x"), "does not know the feature f99"),
        (
            look("o", "bridge", "feature", feature="g6", variant="plain cover"),
            "does not know tuner cover on this part",
        ),
        (look("o", "neck", "sign", sign="smell", outcome="old"), "gives this sign no weight"),
        (
            look("o", "neck", "sign", sign="solder_joints", outcome="untouched"),
            "does not weigh solder joints on this part",
        ),
        (look("o", "shim", "mark", text="65/03 R"), "does not date the shim"),
        (look("o", "neck", "mark", text="hello"), "order"),
    ],
)
def test_what_cannot_be_used_says_why(body: Body, reason: str) -> None:
    assert reason in (why_not(body) or "")


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (
            look("dots-a", "neck", "feature", feature="f12", variant="brass rod 1.6"),
            ['observation "dots-a"', "f12", 'Did you mean "brass rod 1.6 mm"'],
        ),
        (
            look("fit-a", "neck", "sign", sign="neck_pocket_fit", outcome="match"),
            ['observation "fit-a"', "neck_pocket_fit", 'Did you mean "matched"'],
        ),
        (
            look("no-a", "neck_plate", "serial", text="X1"),
            ['observation "no-a"', "not a serial number of this chronology", "'S'"],
        ),
        (
            look("heel-a", "neck", "mark", text="65/03", reader="guess"),
            ['observation "heel-a"', "no such reader", "source-date"],
        ),
        (
            look("joint-a", "socket", "sign", sign="x", likelihoods={"original": 0.5, "foo": 0.1}),
            ['observation "joint-a"', "no such state"],
        ),
        (
            look(
                "jo",
                "socket",
                "sign",
                sign="x",
                likelihoods={"original": 0.0, "later_replacement": 0.5},
            ),
            ['observation "jo"', "give a small number"],
        ),
    ],
    ids=lambda one: one["id"] if isinstance(one, dict) else "",
)
def test_a_wrong_word_is_refused_with_its_observation(body: Body, told: list[str]) -> None:
    with pytest.raises(InputError) as refused:
        translated([body])
    for word in told:
        assert word in str(refused.value)


def test_two_looks_that_disagree_are_refused() -> None:
    one = look("dots-1", "neck", "feature", feature="f12", variant="brass rod 1.6 mm")
    other = look("dots-2", "neck", "feature", feature="f12", variant="white celluloid 2.4 mm")
    with pytest.raises(InputError, match="disagree") as refused:
        translated([one, other])
    assert "dots-1" in str(refused.value)
    assert "dots-2" in str(refused.value)


def test_two_looks_that_agree_count_once() -> None:
    one = look("dots-1", "neck", "feature", feature="f12", variant="brass rod 1.6 mm")
    found = translated([one, {**one, "id": "dots-2"}])
    assert found["dots-1"].evidence
    assert found["dots-2"].evidence == []
    assert found["dots-2"].why_not == "the same fact as “dots-1”, counted once"


def test_an_absent_passing_feature_is_the_usual_variant() -> None:
    assert evidence(look("p", "strap_buttons", "feature", "absent", feature="p1")) == [
        FeatureSeen("p1", "none")
    ]


def test_another_id_of_a_feature() -> None:
    assert evidence(look("o", "pot_volume", "feature", feature="g5", variant="304")) == [
        FeatureSeen("g1@pot_volume", "304")
    ]


def tuner(number: int, variant: str) -> Body:
    return look(f"t{number}", f"tuner_{number}", "feature", feature="g6", variant=variant)


def test_five_equal_tuners_are_one_fact_and_the_odd_one_another() -> None:
    found = translated([tuner(n, "ribbed cover" if n == 4 else "plain cover") for n in range(1, 7)])
    assert found["t1"].evidence == [FeatureSeen("g6@tuners", "plain cover")]
    assert found["t4"].evidence[-1] == FeatureSeen("g6@tuner_4", "ribbed cover")
    for id_ in ("t2", "t3", "t5", "t6"):
        assert found[id_].evidence == []
        assert found[id_].why_not == "of one lot with “t1”, counted once"


@pytest.mark.parametrize(
    "others", [[], [tuner(1, "plain cover")]], ids=["alone", "one against one"]
)
def test_a_minority_does_not_speak_for_the_set(others: list[Body]) -> None:
    found = translated([tuner(4, "ribbed cover"), *others])
    assert found["t4"].evidence[-1] == FeatureSeen("g6@tuner_4", "ribbed cover")


def test_the_same_sign_entered_twice_counts_once() -> None:
    one = look("j1", "pot_volume", "sign", sign="solder_joints", outcome="untouched")
    found = evidence(one, {**one, "id": "j2"})
    assert found == [SignSeen("solder_joints@joint_pot_volume", "untouched")]


def test_own_likelihoods_of_a_sign() -> None:
    own = {"original": 0.2, "later_replacement": 0.9}
    seen = look("x", "socket", "sign", sign="docket", likelihoods=own)
    assert evidence(seen) == [StateLikelihood("socket", own)]


def test_an_examiners_readings_stand_as_they_are() -> None:
    readings = [{"period": "1965-03", "weight": 0.75}, {"period": "1965-08", "weight": 0.25}]
    seen = look("m", "neck", "mark", text="65/0? R", readings=readings)
    (mark,) = evidence(seen)
    assert [(str(one.period), one.weight) for one in mark.readings] == [
        ("Mar 1965", 0.75),
        ("Aug 1965", 0.25),
    ]
    periods = mark_periods(state_of([seen]).observations, wherry(), tables())
    assert periods == {"m": [Period.parse("1965-03"), Period.parse("1965-08")]}


def test_overlapping_readings_never_weigh_more_than_one() -> None:
    readings = [
        {"period": "1965-03", "weight": 1.0},
        {"period": ["1965-01", "1965-06"], "weight": 1.0},
    ]
    (mark,) = evidence(look("m", "neck", "mark", readings=readings))
    assert sum(one.weight for one in mark.readings) == pytest.approx(1)
