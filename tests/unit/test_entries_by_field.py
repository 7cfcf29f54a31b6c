"""No module reads a fact back out of an entry's words: patterns stand in one package alone.

Two looks at the source. Modules of the upper floors that use regular expressions at all are listed
with what they read, which is always text that a person or a device outside wrote. And no module but
the converter of form 1 takes apart the words of an entry's fields, by pattern or by hand.
"""

import ast
import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "heelstamp"
FLOORS = ("catalogue", "casework", "shop", "cli", "web")
CONVERTER = SOURCE / "catalogue" / "form1"
READS = {
    "casework/appraisal/clearance.py": "names of protected materials in whatever was written",
    "casework/appraisal/sales_table.py": "cells of a table of sales",
    "casework/buyer_questions.py": "years in what a buyer asks",
    "casework/claimed_months.py": "months and years in what the consignor claims",
    "casework/census/intake.py": "cells of a census",
    "casework/census/learn.py": "serial numbers; the source of a chronology's row",
    "casework/dating/mark_reading.py": "marks on parts",
    "casework/exported.py": "numbers in cells of a table; endings of file names",
    "casework/first_call/reply.py": "lines of the reply that an owner wrote",
    "casework/jack/request.py": "values with units, and the mark of a capacitor's variant",
    "casework/federation/summary.py": "rows of numbers in another shop's tables",
    "casework/shipping/logger.py": "days and times in a logger's file",
    "casework/listing/checking.py": "a text of the shop's own for a listing",
    "casework/listing/product.py": "the weight as a listing prints it",
    "casework/opening.py": "tags of dossiers",
    "casework/papers/audience.py": "names and numbers that a copy may not carry",
    "casework/papers/condition_section.py": "names of signs, which are typed at the bench",
    "casework/papers/leaving.py": "typed words that would leave the shop, for a person to look at",
    "casework/papers/method_section.py": "years in what the consignor claims",
    "casework/setup/reading.py": "a number typed at the bench",
    "casework/spreadsheet/cells.py": "numbers and dates in cells of a person's table",
    "casework/spreadsheet/reading.py": "first words of a row that adds up, in a person's table",
    "casework/setup/set_text.py": "a set of strings as a person writes it",
    "catalogue/conversion.py": "messages of msgspec",
    "catalogue/journal.py": "the form of a seed",
    "shop/census.py": "names of files",
    "shop/first_call.py": "ids of calls in addresses",
    "shop/files.py": "TAG:FRAME and TAG:RECORDING on the command line",
    "shop/federation.py": "names of files",
    "shop/known_shops.py": "a key's digits as a person typed them",
    "shop/masked_sums.py": "names of joined tables, from outside",
    "shop/makers.py": "names of chronologies and their editions",
    "shop/recordings.py": "names of files",
    "web/api/acts.py": "the address that an act of a page leads to",
    "web/api/once.py": "a header of a request",
    "web/forms.py": "numbers as a browser sends them",
    "web/guard.py": "headers of a request",
    "web/screens/recordings/routes.py": "ranges of bytes",
    "web/screens/setup/view.py": "inches as a wheel shows them",
}
WORDS = frozenset(
    {"note", "reason", "about", "decided", "quantity", "amount", "material", "asked", "result"}
)
"""Fields of entries that hold words."""
TAKES_APART = frozenset(
    {
        "endswith",
        "find",
        "findall",
        "finditer",
        "fullmatch",
        "index",
        "match",
        "partition",
        "removeprefix",
        "removesuffix",
        "rpartition",
        "search",
        "split",
        "startswith",
    }
)


def modules() -> list[Path]:
    found = [path for floor in FLOORS for path in sorted((SOURCE / floor).rglob("*.py"))]
    return [path for path in found if CONVERTER not in path.parents]


def name(path: Path) -> str:
    return path.relative_to(SOURCE).as_posix()


def taken_apart(tree: ast.AST) -> list[int]:
    """Lines on which a field of words is searched or cut."""

    def words(node: ast.expr) -> bool:
        return isinstance(node, ast.Attribute) and node.attr in WORDS

    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr in TAKES_APART and (
                words(node.func.value) or any(words(one) for one in node.args)
            ):
                found.append(node.lineno)
        elif isinstance(node, ast.Compare) and any(
            isinstance(one, ast.In | ast.NotIn) for one in node.ops
        ):
            found += [node.lineno for one in node.comparators if words(one)]
    return found


def test_patterns_stand_where_they_are_listed() -> None:
    texts = {name(path): path.read_text("utf-8") for path in modules()}
    using = {
        module
        for module, text in texts.items()
        if re.search(r"^\s*import\b.*\bre\b", text, re.MULTILINE)  # parsed only where it may be
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Import) and any(one.name == "re" for one in node.names)
    }
    assert using - READS.keys() == set()


@pytest.mark.parametrize("path", modules(), ids=name)
def test_no_words_of_an_entry_are_taken_apart(path: Path) -> None:
    assert taken_apart(ast.parse(path.read_text("utf-8"))) == []


@pytest.mark.parametrize(
    "code",
    [
        "_ON.search(one.note)",
        "one.about.startswith('words:')",
        "'felt: creak' in done.note",
        "one.note.partition(';')",
        "re.match(words, body.quantity)",
    ],
)
def test_the_look_finds_what_it_looks_for(code: str) -> None:
    assert taken_apart(ast.parse(code)) == [1]
