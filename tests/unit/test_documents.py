"""Documents: broken ones name file, line, column and remedy; places are found."""

from typing import Any

import pytest

from heelstamp.documents import decode_text, format_of, locate, parse_document
from heelstamp.errors import InputError

TOML = '''schema = "x"  # line 1
[instrument]
kind = "guitar"
note = """
[[observation]]
id = "not one"
"""

[[observation]]
id = "o1"
part = "neck"
[[observation.readings]]
weight = 1
[[ observation ]] # the second
"id" = "o2"
readings = [
  { period = "1965-03", weight = 0.5 },
]
[other.deep]
key = 1
'''

JSON = """{
  "schema": "x",
  "instrument": {
    "kind": "guitar"},
  "observation": [
    {"id": "o1", "note": "} ] , \\" ["},
    {
      "id": "o2",
      "readings": [{"period": "1965-03",
        "weight": 0.5}]
    }
  ]
}"""


@pytest.mark.parametrize(
    ("table", "index", "key", "line"),
    [
        ("", None, "schema", 1),
        ("instrument", None, None, 2),
        ("instrument", None, "kind", 3),
        ("instrument", None, "absent", 2),
        ("observation", 0, None, 9),
        ("observation", 0, "part", 11),
        ("observation", 0, "readings", 12),
        ("observation", 1, None, 14),
        ("observation", 1, "id", 15),
        ("observation", 1, "readings", 16),
        ("other.deep", None, "key", 20),
        ("observation", 2, None, None),
        ("nowhere", None, None, None),
        ("", None, "absent", 1),
    ],
)
def test_places_in_toml(table: str, index: int | None, key: str | None, line: int | None) -> None:
    assert locate(TOML, table, index, key) == line


@pytest.mark.parametrize(
    ("table", "index", "key", "line"),
    [
        ("", None, "schema", 2),
        ("instrument", None, "kind", 4),
        ("observation", None, None, 5),
        ("observation", 0, "note", 6),
        ("observation", 1, None, 7),
        ("observation", 1, "readings", 9),
        ("observation", 1, "absent", 7),
        ("observation", 2, None, None),
        ("nowhere", None, None, None),
    ],
)
def test_places_in_json(table: str, index: int | None, key: str | None, line: int | None) -> None:
    assert locate(JSON, table, index, key) == line


def test_both_samples_are_well_formed() -> None:
    assert parse_document(TOML, "f.toml", "toml")["observation"][1]["id"] == "o2"
    assert parse_document(JSON, "f.json", "json")["observation"][1]["id"] == "o2"


@pytest.mark.parametrize(
    ("text", "where", "received"),
    [
        ("a = 1\nb = = 2\n", "f.toml, line 2, column 5", "b = = 2"),
        ("a = 1965-03\n", "f.toml, line 1", "a = 1965-03"),
        ('a = "open\n', "f.toml, line 1", 'a = "open'),
        ("a = 1\na = 2\n", "f.toml, line 2", "a = 2"),
        ("a = [1,\n2\n", "f.toml, line 2", "2"),
    ],
)
def test_broken_toml_names_line_and_shows_it(text: str, where: str, received: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_document(text, "f.toml", "toml")
    assert caught.value.where.startswith(where)
    assert caught.value.received == received
    assert caught.value.what.startswith("broken TOML: ")
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"a": 1,}', "f.json, line 1, column 9: broken JSON"),
        ('{"a": 1\n"b": 2}', "f.json, line 2, column 1"),
        ("[1, 2]", "f.json, line 1: the document is not a table"),
    ],
)
def test_broken_json_names_line_and_column(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_document(text, "f.json", "json")


def test_toml_dates_become_text() -> None:
    text = "a = 2026-11-02T09:14:00Z\nb = 2026-11-02\nc = [2026-11-02T09:14:00+01:00]\n"
    assert parse_document(text, "f.toml", "toml") == {
        "a": "2026-11-02T09:14:00Z",
        "b": "2026-11-02",
        "c": ["2026-11-02T09:14:00+01:00"],
    }


def test_a_date_that_is_not_in_the_calendar_is_broken_toml() -> None:
    with pytest.raises(InputError, match=r"f\.toml, line 1"):
        parse_document("a = 2026-02-30\n", "f.toml", "toml")


@pytest.mark.parametrize(("name", "form"), [("a.toml", "toml"), ("A.JSON", "json")])
def test_the_format_is_told_by_the_name(name: str, form: str) -> None:
    assert format_of(name) == form


def test_another_ending_is_refused() -> None:
    with pytest.raises(InputError, match="neither TOML nor JSON"):
        format_of("a.yaml")


def test_text_that_is_not_utf_8_names_its_line() -> None:
    with pytest.raises(InputError, match=r"f\.toml, line 2: not UTF-8 text \(received: ff\)"):
        decode_text(b"a = 1\nb = \xff", "f.toml")
    assert decode_text(b"\xef\xbb\xbfa = 1", "f.toml") == "a = 1"


def test_every_line_found_in_toml_holds_the_key() -> None:
    lines = TOML.splitlines()
    for table, index, key in (("observation", 0, "part"), ("observation", 1, "readings")):
        found: Any = locate(TOML, table, index, key)
        assert key in lines[found - 1]
