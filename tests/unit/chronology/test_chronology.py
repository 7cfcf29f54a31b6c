"""Chronologies: the bundled ones read, broken ones refused with place and remedy.

The maker is invented, and so is every figure of its chronology.
"""

import json
import tomllib
from importlib import resources

import numpy as np
import pytest

from heelstamp.archive import is_digest
from heelstamp.chronology import Chronology, SerialCurve, dating_model, read_chronology
from heelstamp.chronology.records import LagTable
from heelstamp.chronology.tables import lag_distribution
from heelstamp.dating import ModelError, infer
from heelstamp.dating.changeover import variant_curves
from heelstamp.errors import InputError
from heelstamp.reference.chronology_files import chronology_ids, load_chronology
from heelstamp.units import format_month, parse_month

FOLDER = resources.files("heelstamp.reference") / "chronologies"
TEXT = FOLDER.joinpath("sallowby-wherry.toml").read_text("utf-8")
WHERRY = read_chronology(TEXT, "toml", name="w.toml")


def broken(old: str, new: str) -> Chronology:
    assert old in TEXT
    return read_chronology(TEXT.replace(old, new, 1), "toml", name="w.toml")


def line_of(fragment: str, text: str = TEXT) -> int:
    return text[: text.index(fragment)].count("\n") + 1


@pytest.mark.parametrize("id_", ["sallowby-wherry", "sallowby-lockkeeper"])
def test_the_bundled_ones_read_and_give_a_model(id_: str) -> None:
    assert id_ in chronology_ids()
    chronology = load_chronology(id_)
    assert chronology.id == id_
    assert chronology.invented
    assert is_digest(chronology.digest)
    model = dating_model(chronology)
    assert infer(model, ()).months[0] == pytest.approx(model.prior, abs=1e-12)
    assert {part.name for part in model.parts} == {row.key for row in chronology.parts}


def test_toml_and_json_are_one_chronology() -> None:
    text = json.dumps(tomllib.loads(TEXT), ensure_ascii=False)
    assert read_chronology(text, "json", name="w.json") == WHERRY


def test_the_digest_is_that_of_what_is_said() -> None:
    assert broken("# What is known", "# Whatever is known").digest == WHERRY.digest
    assert broken("share = 0.8", "share = 0.81").digest != WHERRY.digest


# what is broken: old text, new text, and the words that the refusal must have
BROKEN: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "syntax": ('id = "sallowby-wherry"', "id = wherry", ("line 4", "broken TOML", "quotes")),
    "schema": ("chronology/1", "chronology/9", ("line 3, field schema", "heelstamp/chronology/1")),
    "unknown table": ("[[batch]]", "[[batches]]", ("batches", 'Did you mean "batch"')),
    "missing table": (
        '[production]\nfirst = "1953-03"\nlast = "1968-06"\n',
        "",
        ("table production is missing",),
    ),
    "empty id": ('id = "sallowby-wherry"', 'id = ""', ("line 4", "field id")),
    "edition not a text": ('edition = "2026-11"', "edition = 3", ("line 5", "field edition", "3")),
    "list for a table": ("[timing]", "[[timing]]", ("timing", "not a table")),
    "table for a list": ("[[batch]]", "[batch]", ("batch", "[[batch]]")),
    "unknown field": ("share = 0.8", "shares = 0.8", ("batch 1, field shares", '"share"')),
    "missing field": ("share = 0.8", "", ("batch 1, field share", "Give share")),
    "out of range": ("share = 0.8", "share = 1.8", ("batch 1, field share", "1.8", "<= 1.0")),
    "wrong type": ("share = 0.8", 'share = "x"', ("batch 1, field share", "float")),
    "wrong choice": (
        'retrofit = "easy"',
        'retrofit = "eazy"',
        ("feature 1, field retrofit", 'mean "easy"'),
    ),
    "inner range": ("tail_max = 24", "tail_max = 99", ("timing, field lag", "99", "60")),
    "inner field": ("half_life", "halflife", ("timing, field gap", '"half_life"')),
    "month of production": ('"1953-03"', '"1953-13"', ("line 13", "production, field first", "12")),
    "month of the grid": ('["1930-01"', '["1930"', ("grid, field completion", "1965-03")),
    "month of a change": (
        'first_new = "1957-09"',
        'first_new = "1957-00"',
        ("feature 4, field change", "1957-00"),
    ),
    "month of passing": (
        'first = "1959-05"',
        'first = "May 1959"',
        ("feature 20, field passing", "May 1959"),
    ),
    "month of a knot": ('month = "1966-02"', 'month = "66"', ("serial, field knot", "1965-03")),
    "part of a set": (
        '"guard", "pickup_neck"',
        '"guardd", "pickup_neck"',
        ("set 3, field parts", 'mean "guard"'),
    ),
    "opening on the way to a part": (
        'path = [["neck_off"]], p = [0.86',
        'path = [["nek_off"]], p = [0.86',
        ("part 3, field levels", 'mean "neck_off"'),
    ),
    "opening that another needs": (
        'needs = [["guard_off"], ["plate_off"]]',
        'needs = [["guard_off"], ["plat_off"]]',
        ("opening 10, field needs", 'mean "plate_off"'),
    ),
    "opening along with another": (
        "along = { refinish = 0.98 }",
        "along = { refinishing = 0.98 }",
        ("opening 2, field along", 'mean "refinish"'),
    ),
    "history of an opening": (
        "p = { kept = 0.4, used = 0.7",
        "p = { keptt = 0.4, used = 0.7",
        ("opening 2, field p", "kept"),
    ),
    "opening of a foreign body": (
        '["neck_off", "guard_off", "bridge_off"]',
        '["neck_of"]',
        ("prior, field foreign_opens", 'mean "neck_off"'),
    ),
    "opening of a sign": (
        'foil = "foil_off" }',
        'foil = "foil_of" }',
        ("field openings", 'mean "foil_off"'),
    ),
    "part of a sign of openings": (
        '{ foil = "foil_off" }',
        '{ foill = "foil_off" }',
        ("field openings", 'mean "foil"'),
    ),
    "source of a set": (
        "later_replacement = 0.25, from",
        "later_replacment = 0.25, from",
        ("set 1, field source", 'mean "later_replacement"'),
    ),
    "a lot partly in a set": (
        '"leads", "pot_volume", "pot_tone"',
        '"leads", "pot_volume"',
        ("set 3, field parts", "a lot lies partly inside"),
    ),
    "both forms": (
        "[[part]]",
        (
            '[[assembly]]\nname = "x"\nparts = ["neck"]\n'
            'disturbed = { kept = 0.1, used = 0.1, "worked over" = 0.1, "put together" = 0.1 }\n'
            "\n[[part]]"
        ),
        ("assembly 1", "one of the two"),
    ),
    "a table of the short form": (
        'key = "neck"\nform = "part"',
        'key = "neck"\nform = "part"\ndisturbed = [0.7, 0.1, 0.1, 0.1]',
        ("part 3, field disturbed", "give levels"),
    ),
    "sign of the lamp places": (
        'sign = "uv_patch"',
        'sign = "uv_colour"',
        ("places, field sign", "table of its own"),
    ),
    "look in place of the places": (
        'instead = { uv_colour = "local_patches" }',
        'instead = { uv_colour = "patches" }',
        ("places, field instead", 'mean "local_patches"'),
    ),
    "level that does not add up": (
        "p = [0.86, 0.05, 0.05, 0.04]",
        "p = [0.8, 0.05, 0.05, 0.04]",
        ("part 3, field levels", "add to one"),
    ),
    "part of a lot": (
        '"pot_tone"]\nshare',
        '"pot_ton"]\nshare',
        ("batch 1, field parts", '"pot_tone"'),
    ),
    "part of a feature": (
        'parts = ["badge"]',
        'parts = ["badg"]',
        ("feature 7, field parts", 'mean "badge"'),
    ),
    "part of a sign": (
        'parts = ["neck"]\noutcomes',
        'parts = ["nek"]\noutcomes',
        ("sign 4, field parts", '"neck"'),
    ),
    "part of a writing": (
        'part = "body"\norder',
        'part = "bodi"\norder',
        ("writing 1, field part", '"body"'),
    ),
    "feature of an exception": (
        'feature = "f10"',
        'feature = "f99"',
        ("exception 2, field feature", "f99"),
    ),
    "variants and changes": (
        '"sweetgum", "basswood"',
        '"gum", "bass", "x"',
        ("feature 4, field variants", "do not fit"),
    ),
    "no change": (
        'change = [{ first_new = "1957-09", last_old = "1958-04" }]',
        "",
        ("feature 4, field variants", "0 change-overs"),
    ),
    "failure of a group": ('look" = 0.03', 'look" = 3', ("group_failure", "finish look", "3")),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_chronology_is_refused_where_it_is_broken(name: str) -> None:
    old, new, words = BROKEN[name]
    with pytest.raises(InputError) as refused:
        broken(old, new)
    said = str(refused.value)
    assert said.startswith("w.toml")
    assert refused.value.remedy
    for word in words:
        assert word in said


def test_a_refusal_names_the_very_line() -> None:
    with pytest.raises(InputError) as refused:
        broken("share = 0.8", "share = 1.8")
    assert f"line {line_of('share = 0.8')}, batch 1, field share" in str(refused.value)


# tables whose faults show when the model is made: words that the refusal must have
INCONSISTENT: dict[str, tuple[str, str, str]] = {
    "histories": ("probability = 0.6", "probability = 0.5", "history classes"),
    "openings in a ring": (
        'careful = "jack plate"',
        'careful = "jack plate"\nneeds = [["joint_socket"]]',
        "ring",
    ),
    "row of a sign": ("[0.88, 0.1, 0.02]", "[0.8, 0.1, 0.02]", "sign 'neck_pocket_fit'"),
    "rows of a sign": ("table = [[0.88, 0.1, 0.02], ", "table = [", "needs 4 rows"),
    "columns of a sign": ("[0.88, 0.1, 0.02]", "[0.88, 0.12]", "length than the outcomes"),
    "a lot across assemblies": ('"pot_tone"]\nshare', '"neck"]\nshare', "one lag"),
    "a group without failure": ('"finish look" = 0.03', "x = 0.03", "uv_colour"),
    "a point that falls back": ('"1966-02"', '"1960-02"', "point that falls back"),
    "make months too short": ('marks = ["1925-01"', 'marks = ["1929-06"', "earliest period"),
    "make months too early": ('"2026-12"]', '"1990-12"]', "ends too early"),
}


@pytest.mark.parametrize("name", INCONSISTENT)
def test_an_inconsistent_chronology_gives_no_model(name: str) -> None:
    old, new, words = INCONSISTENT[name]
    with pytest.raises(InputError) as refused:
        dating_model(broken(old, new))
    assert words in str(refused.value)


MEANINGLESS: dict[str, tuple[str, str]] = {
    "assembly of a sign": (
        "[[sign]]",
        (
            '[[sign]]\nid = "smell"\nname = "smell"\nassembly = "hardwares"\n'
            'outcomes = ["old", "new"]\ntable = [[0.9, 0.1], [0.4, 0.6]]\n\n[[sign]]'
        ),
    ),
    "part of the serial": ('part = "neck_plate"\nspread', 'part = "plate"\nspread'),
    "two features of one id": (
        "[[feature]]",
        (
            '[[feature]]\nid = "f05"\nname = "top"\nparts = ["neck"]\nvariants = ["x", "y"]\n'
            'change = [{ first_new = "1957-09", last_old = "1958-04" }]\n'
            'retrofit = "no"\nseen_from = "outside"\n\n[[feature]]'
        ),
    ),
    "two equal variants": ('"sweetgum", "basswood"', '"basswood", "basswood"'),
    "a factory variant called other": ('"sweetgum"', '"other"'),
    "change-overs in falling order": (
        'first_new = "1957-02", last_old = "1957-08"',
        'first_new = "1967-02", last_old = "1967-08"',
    ),
    "a feature of one part twice": (
        'parts = ["neck"]\nvariants',
        'parts = ["neck", "neck"]\nvariants',
    ),
    "set of a lot": ('set_part = "tuners"', 'set_part = "tuner"'),
    "variant when absent": ('when_absent = "18 ribs"', 'when_absent = "19 ribs"'),
    "variant of a mark": ('absent = "absent" }', 'absent = "gone" }'),
    "variant of a prefix": ('S = "S" }', 'S = "Z" }'),
    "order of a writing": ('order = "roman-month year2"', 'order = "nonsense"'),
    "month of a writing": ('last = "1963-12"', 'last = "1963-99"'),
    "lags within a lot": (
        "lag = { mean = 5.0, sd = 3.2, tail_weight = 0.08, tail_max = 30 }",
        "lag = { mean = 1.0, sd = 3.2, tail_weight = 0.08, tail_max = 30 }",
    ),
    "gap before the make months": ("gap = { first = -24", "gap = { first = -70"),
    "duplicated numbers backwards": ("[[6210, 6289]]", "[[6289, 6210]]"),
}


@pytest.mark.parametrize("name", MEANINGLESS)
def test_a_name_without_meaning_is_refused(name: str) -> None:
    with pytest.raises(InputError):
        dating_model(broken(*MEANINGLESS[name]))


STILL_ACCEPTED: dict[str, tuple[str, str]] = {
    "part of a mark that shows a feature": ('mark = { part = "body"', 'mark = { part = "bod"'),
    "make months that end before the last replacement": (
        'marks = ["1925-01", "2026-12"]',
        'marks = ["1925-01", "1987-01"]',
    ),
}


@pytest.mark.parametrize("name", STILL_ACCEPTED)
def test_what_should_be_refused_too(name: str) -> None:
    old, new = STILL_ACCEPTED[name]
    assert old in TEXT
    text = TEXT.replace(old, new, 1).replace("later_from = 73", "later_from = 6")
    with pytest.raises(InputError):
        dating_model(read_chronology(text, "toml", name="w.toml"))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('last = "1968-06"', 'last = "1948-06"'),
        ('"1930-01", "1985-12"', '"1985-12", "1930-01"'),
        ('first = "1953-03"\nlast = "1968-06"', 'first = "1993-03"\nlast = "1998-06"'),
        ('volume = "serial"', 'volume = { "1960" = -3, "1961" = 10 }'),
        ("first = -24, last = 72", "first = 72, last = -24"),
        ('key = "neck"\nform = "part"', 'key = "neck"\nform = "anchor"'),
    ],
    ids=["production", "grid", "production off the grid", "volume", "gap", "two anchors"],
)
def test_ends_the_wrong_way_round_name_the_file(old: str, new: str) -> None:
    with pytest.raises(InputError, match=r"w\.toml") as refused:
        dating_model(broken(old, new))
    assert refused.value.remedy


LAGS = {"body": (0, 2, 7), "neck": (0, 2, 6), "pot_volume": (1, 5, 15), "pot_tone": (1, 5, 15)}
"""Months at 5, 50 and 95 % as the scenario states them; invented scenario."""


@pytest.mark.parametrize("part", LAGS)
def test_lags_are_those_of_the_scenario(part: str) -> None:
    lag = np.cumsum(dating_model(WHERRY).part(part).lag or ())
    assert tuple(int(np.searchsorted(lag, q)) for q in (0.05, 0.5, 0.95)) == LAGS[part]


@pytest.mark.parametrize("part", ["body", "neck", "pot_volume"])
def test_a_lag_has_the_mean_that_is_written(part: str) -> None:
    row = next(one for one in WHERRY.parts if one.key == part).lag
    assert row is not None
    lag = np.array(dating_model(WHERRY).part(part).lag)
    wanted = (1 - row.tail_weight) * row.mean + row.tail_weight * row.tail_max / 2
    assert float(lag @ np.arange(len(lag))) == pytest.approx(wanted, abs=0.1)


def test_lags_are_doubted_unless_the_chronology_knows_them() -> None:
    known = np.array(dating_model(WHERRY).part("neck").lag)
    doubted = np.array(dating_model(broken("lag_doubt = 0 ", "#")).part("neck").lag)
    months = np.arange(len(known))
    spread = [np.sqrt(lag @ months**2 - (lag @ months) ** 2) for lag in (known, doubted)]
    assert doubted.sum() == pytest.approx(1)
    assert spread[1] > spread[0]


@pytest.mark.parametrize("part", LAGS)
def test_a_lag_has_its_tail(part: str) -> None:
    row = next(one for one in WHERRY.parts if one.key == part).lag
    assert row is not None
    lag = dating_model(WHERRY).part(part).lag
    assert lag is not None
    assert len(lag) == row.tail_max + 1
    assert sum(lag) == pytest.approx(1)
    assert lag[-1] == pytest.approx(row.tail_weight / row.tail_max, rel=0.1)
    assert min(lag) > 0


def test_a_change_over_lies_between_first_new_and_last_old() -> None:
    """Centre in the middle, width a quarter of their distance and at least one month."""
    model = dating_model(WHERRY)
    timber = next(one for one in model.features if one.name == "f04").transitions[0]
    assert timber.centre == (parse_month("1957-09") + parse_month("1958-04")) / 2
    assert timber.width == 7 / 4
    prefix = next(one for one in model.features if one.name == "g2").transitions[0]
    assert prefix.width == 1.0
    own = dating_model(broken('last_old = "1958-04" }', 'last_old = "1958-04", width = 5 }'))
    assert next(one for one in own.features if one.name == "f04").transitions[0].width == 5


def test_first_new_and_last_old_are_rare_but_not_odd() -> None:
    """With a width of a quarter, one in eight shows the other variant at either end."""
    timber = next(one for one in dating_model(WHERRY).features if one.name == "f04")
    ends = np.array([parse_month("1957-09"), parse_month("1958-04")])
    share_new = variant_curves(timber, ends)[1]
    assert share_new[0] == pytest.approx(1 / (1 + np.exp(2)))
    assert share_new[1] == pytest.approx(1 - share_new[0])


def test_production_follows_the_numbers() -> None:
    """Between two knots the prior is even; outside production only the even share is left."""
    model = dating_model(WHERRY)
    prior = dict(zip(map(format_month, model.completion), model.prior, strict=True))
    assert prior["1964-09"] == pytest.approx(prior["1966-01"])
    assert prior["1964-09"] / prior["1955-08"] == pytest.approx((5000 / 18) / (1000 / 15), rel=0.02)
    assert prior["1953-02"] == pytest.approx(WHERRY.prior.uniform_share / len(model.completion))
    assert prior["1968-07"] == prior["1953-02"]


def test_a_serial_scatters_by_one_standard_deviation() -> None:
    """The central 68.3 % of Student's t with 3 degrees of freedom: 1.197 scales (from memory)."""
    scheme = dating_model(WHERRY).serial
    assert scheme is not None
    steps = np.linspace(-4, 4, 800_001)  # months
    density = (1 + (steps / scheme.scale) ** 2 / 3) ** -2
    whole = 2 / (np.pi * np.sqrt(3)) / scheme.scale * density.sum() * (steps[1] - steps[0])
    assert whole == pytest.approx(0.6827, abs=1e-4)


def test_a_number_stamped_twice_is_looked_for_around_its_month() -> None:
    curve = SerialCurve.of(WHERRY)
    assert curve is not None
    (single,) = curve.months("6300")
    twice = dict(curve.months("6250"))
    assert single[1] == 1.0
    assert len(twice) == 25
    assert max(twice, key=lambda month: twice[month]) == curve.nominal("", 6250)


def test_numbers_beyond_the_knots_stay_within_production() -> None:
    curve = SerialCurve.of(WHERRY)
    assert curve is not None
    assert curve.nominal("", 1) == parse_month(WHERRY.production.first)
    assert curve.nominal("S", 99999) == parse_month(WHERRY.production.last)
    assert format_month(curve.nominal("S", 13000)) == "1966-02"


@pytest.mark.parametrize(("mean", "sd"), [(50.0, 1.0), (59.0, 0.1), (5.0, 3.2), (12.0, 0.5)])
def test_a_narrow_lag_keeps_its_mean_and_overflows_nothing(mean: float, sd: float) -> None:
    lag = lag_distribution(LagTable(mean=mean, sd=sd, tail_weight=0.0, tail_max=60))
    assert sum(lag) == pytest.approx(1)
    assert sum(k * p for k, p in enumerate(lag)) == pytest.approx(mean, abs=0.001)


def test_a_lag_beyond_its_longest_month_is_refused() -> None:
    with pytest.raises(ModelError, match="beyond its longest month"):
        lag_distribution(LagTable(mean=60.0, sd=0.1, tail_weight=0.0, tail_max=3))
