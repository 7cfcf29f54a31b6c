"""Chronologies without a browser: edits are whole new editions or nothing; learning is shown."""

from __future__ import annotations

import html
import re
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from starlette.testclient import TestClient

from fakes.shared_shop import make_shared, opened
from fakes.web_shop import TAG
from heelstamp.casework.census.held import LEVELS, Held, HeldLevel
from heelstamp.chronology import Chronology
from heelstamp.reference.chronology_files import bundled_text, load_chronology
from heelstamp.shop.jobs import Progress
from heelstamp.shop.opened import OpenShop

ID = "sallowby-wherry"
HOME = f"/maker/{ID}"
EXAMPLES = Path(__file__).parents[2] / "examples"
CENSUS = (EXAMPLES / "wherry-census.csv").read_bytes()
COLUMNS = (EXAMPLES / "wherry-census-columns.toml").read_bytes()
SHIPPED = load_chronology(ID)


def shop_of(bench: TestClient) -> OpenShop:
    desk: OpenShop = bench.app.state.shop  # type: ignore[attr-defined]
    return desk


def present(bench: TestClient) -> Chronology:
    return shop_of(bench).chronology(ID)


def folder(bench: TestClient) -> Path:
    return shop_of(bench).folder / "chronologies"


def words(answer: Any) -> str:
    assert answer.status_code == 200, answer.text
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.unescape(answer.text)))


def change(bench: TestClient, **told: str) -> Any:
    base = present(bench).digest
    form = {"feature": "f12", "place": "0", "first": "1963-02", "last": "1963-08", "base": base}
    return bench.post(f"{HOME}/change", data={**form, **told})


def take(bench: TestClient, data: bytes = CENSUS, name: str = "census.csv") -> Any:
    files = {"table": (name, data, "text/csv"), "columns": ("columns.toml", COLUMNS, "text/plain")}
    return bench.post(f"{HOME}/census", files=files)


def finished(bench: TestClient, answer: Any) -> Any:
    """Come again to the page of a piece of work until it is done."""
    if "http-equiv" not in answer.text:
        return answer
    jobs, path = shop_of(bench).jobs, answer.url.path
    job = jobs.find(path.rpartition("/")[2])
    assert job is not None
    assert jobs.wait(job, 600).finished
    return bench.get(path)


def test_an_invented_maker_says_so_everywhere(lasting_bench: TestClient) -> None:
    for path in ("/makers", HOME, f"{HOME}/feature/f12"):
        assert "invented maker" in words(lasting_bench.get(path)).lower()
    assert "comes with the program" in words(lasting_bench.get("/makers"))


def test_everything_of_a_chronology_is_on_its_page(lasting_bench: TestClient) -> None:
    said = words(lasting_bench.get(HOME))
    for row in SHIPPED.features:
        assert row.name.lower() in said.lower()
    for told in ("Numbers", "24 ribs: came and went", "left-handed pickguards", "Solder joints"):
        assert told.lower() in said.lower()
    assert SHIPPED.serial is not None
    assert lasting_bench.get(HOME).text.count('name="month"') == len(SHIPPED.serial.knot) + 1
    assert "6210-6289" in lasting_bench.get(HOME).text


def test_a_feature_is_drawn_with_its_months(lasting_bench: TestClient) -> None:
    said = words(lasting_bench.get(f"{HOME}/feature/f12"))
    assert "No instrument of the census shows this feature yet" in said
    assert "50 % from May 1963" in said
    assert "1963-07" in said  # a row of the curve's table
    for wrong in (f"{HOME}/feature/f99", "/maker/none", "/maker/..%2f..%2fetc"):
        assert lasting_bench.get(wrong).status_code in {404, 422}


def test_an_edit_writes_a_whole_new_edition_of_the_shops_own(bench: TestClient) -> None:
    answer = change(bench, last="1963-12", source="five seen <b>here</b>")
    assert "Written: edition" in words(answer)
    new = present(bench)
    assert new.edition != SHIPPED.edition
    (seen,) = new.feature("f12").change  # type: ignore[union-attr]
    assert (seen.first_new, seen.last_old) == ("1963-02", "1963-12")
    assert seen.source == "five seen <b>here</b>"
    assert "<b>here</b>" not in answer.text
    others = [one for one in new.features if one.id != "f12"]
    assert others == [one for one in SHIPPED.features if one.id != "f12"]
    kept = folder(bench) / "earlier" / f"{ID}-{SHIPPED.edition}.toml"
    assert kept.read_text("utf-8") == bundled_text(ID)  # comments and all
    head = (folder(bench) / f"{ID}.toml").read_text("utf-8").partition("\n")[0]
    assert head.startswith("# Written at the bench by examiner A, 20")
    assert change(bench, last="1964-01").status_code == 200
    assert len(list((folder(bench) / "earlier").iterdir())) == 2
    assert not list(folder(bench).glob(".*"))


def test_a_dossier_reads_the_new_edition_at_once(bench: TestClient) -> None:
    desk = shop_of(bench)
    bench.post(
        f"/dossier/{TAG}/seen",
        data={
            "part": "neck",
            "kind": "feature",
            "status": "read",
            "subject": "f12",
            "value": "brass rod 1.6 mm",
        },
    )
    before = desk.finding(TAG).data()["completion"]["months"]
    assert change(bench, first="1957-02", last="1957-08").status_code == 200
    assert desk.finding(TAG).data()["completion"]["months"] != before


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"first": "yesterday"}, "first_new"),
        ({"first": ""}, "first_new"),
        ({"first": "1963-13"}, "first_new"),
        ({"width": "1e9"}, "width"),
        ({"width": "0"}, "width"),
    ],
)
def test_an_edit_that_breaks_the_file_is_refused_by_its_reader(
    lasting_bench: TestClient, told: dict[str, str], field: str
) -> None:
    answer = change(lasting_bench, **told)
    assert answer.status_code == 422
    said = html.unescape(answer.text)
    assert re.search(rf"{ID}.toml, line \d+, feature 12, field (change|{field})", said), said
    assert 'class="refusal"' in said
    assert not folder(lasting_bench).exists()


def test_an_edit_without_a_change_is_no_edition(lasting_bench: TestClient) -> None:
    assert change(lasting_bench).status_code == 422
    assert change(lasting_bench, feature="f99").status_code == 422
    assert change(lasting_bench, place="7").status_code == 409
    assert change(lasting_bench, base="0" * 64, last="1964-01").status_code == 409
    assert change(lasting_bench, edition=SHIPPED.edition, last="1964-01").status_code == 422
    assert not folder(lasting_bench).exists()


def own_lag(chronology: Chronology, part: str) -> Any:
    return next(one.lag for one in chronology.parts if one.key == part)


def test_a_batch_a_knot_a_lot_an_exception_and_a_lag_are_edited(bench: TestClient) -> None:
    def post(path: str, **told: str) -> Chronology:
        answer = bench.post(f"{HOME}/{path}", data={"base": present(bench).digest, **told})
        assert answer.status_code == 200, answer.text
        return present(bench)

    assert SHIPPED.serial is not None
    count = len(SHIPPED.serial.knot)
    batch = {"feature": "p2", "first": "1962-10", "last": "1963-05", "share": "0.4", "width": "2"}
    passing = post("change", **batch).feature("p2").passing  # type: ignore[union-attr]
    assert (passing.first, passing.share, passing.edge) == ("1962-10", 0.4, 2.0)  # type: ignore[union-attr]
    knots = post("curve", prefix="S", number="2000", month="1962-09").serial.knot  # type: ignore[union-attr]
    assert len(knots) == count + 1
    assert len(post("curve", place=str(count), out="true").serial.knot) == count  # type: ignore[union-attr]
    serial = post("serials", spread="5", duplicated="6210-6289; 7000 - 7009").serial
    assert serial is not None
    assert serial.duplicated == [(6210, 6289), (7000, 7009)]
    assert (
        post("batch", place="0", parts="pot_volume, pot_tone", share="0.5").batches[0].share == 0.5
    )
    assert not post("batch", place="0", out="true").batches
    assert post("batch", parts="pot_volume,pot_tone", share="0.6").batches[0].share == 0.6
    told = post("exception", feature="f12", said="left-handed necks")
    assert told.exceptions[-1].text == "left-handed necks"
    assert post("delay", mean="3", sd="2", tail_weight="0.1", tail_max="24").timing.lag.mean == 3.0
    own = {"part": "capacitor", "mean": "9", "sd": "4", "tail_weight": "0.2", "tail_max": "30"}
    assert own_lag(post("delay", **own), "capacitor").mean == 9.0
    assert own_lag(post("delay", **own, shared="true"), "capacitor") is None
    made = post("production", first="1953-03", last="1969-01").production
    assert (made.first, made.last) == ("1953-03", "1969-01")
    assert "to Jan 1969" in words(bench.get(HOME))
    feature = {
        "feature": "x1",
        "called": "nut",
        "part": "neck",
        "old": "bone",
        "fresh": "brass",
        "first": "1960-01",
        "last": "1960-06",
        "seen_from": "outside",
    }
    assert post("feature", **feature).feature("x1").variants == ["bone", "brass"]  # type: ignore[union-attr]
    assert "bone → brass" in words(bench.get(HOME))


def test_the_serial_curve_is_drawn_again_with_a_point_more(bench: TestClient) -> None:
    def picture() -> str:
        return html.unescape(bench.get(HOME).text).split('aria-labelledby="serials"')[1]

    before = picture()
    assert "S13000 in Feb 1966" in before
    assert before.count("<circle") == 13
    point = {"prefix": "S", "number": "20000", "month": "1968-05", "base": present(bench).digest}
    assert bench.post(f"{HOME}/curve", data=point).status_code == 200
    after = picture()
    assert "S20000 in May 1968" in after
    assert after.count("<circle") == 14


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("production", {"first": "1969-01", "last": "1953-03"}),
        ("production", {"first": "spring", "last": "1953-03"}),
        ("delay", {"part": "moon", "mean": "3", "sd": "2", "tail_weight": "0.1", "tail_max": "24"}),
        ("curve", {"prefix": "S", "number": "100", "month": "1999-01"}),  # falls back
        ("curve", {"place": "99", "out": "true"}),
        ("curve", {"out": "true"}),
        ("serials", {"spread": "nan"}),
        ("serials", {"spread": "4", "duplicated": "all of them"}),
        ("serials", {"spread": "4", "duplicated": "9-3"}),
        ("batch", {"parts": "pot_volume", "share": "0.5"}),
        ("batch", {"parts": "pot_volume, moon", "share": "0.5"}),
        ("exception", {"feature": "f99", "said": "x"}),
        ("delay", {"mean": "60", "sd": "0.1", "tail_weight": "0", "tail_max": "3"}),  # no model
        ("delay", {"mean": "-1", "sd": "1", "tail_weight": "2", "tail_max": "3"}),
        (
            "feature",
            {
                "feature": "f12",
                "called": "again",
                "part": "neck",
                "old": "a",
                "fresh": "b",
                "first": "1960-01",
                "last": "1960-02",
                "seen_from": "outside",
            },
        ),
        (
            "feature",
            {
                "feature": "x",
                "called": "\x00",
                "part": "tail",
                "old": "a",
                "fresh": "a",
                "first": "1960-01",
                "last": "1960-02",
                "seen_from": "moon",
            },
        ),
        ("text", {"text": "schema = "}),
        ("text", {"text": ""}),
        ("text", {"text": bundled_text(ID)}),  # the same edition
        ("text", {"text": bundled_text("sallowby-lockkeeper")}),
    ],
)
def test_what_cannot_be_a_chronology_writes_nothing(
    lasting_bench: TestClient, path: str, told: dict[str, str]
) -> None:
    answer = lasting_bench.post(
        f"{HOME}/{path}", data={**told, "base": present(lasting_bench).digest}
    )
    assert answer.status_code in {409, 422}, answer.text
    assert 'class="refusal"' in answer.text
    assert not folder(lasting_bench).exists()


def test_a_broken_text_is_told_with_its_line(lasting_bench: TestClient) -> None:
    text = bundled_text(ID).replace("share = 0.5 }", "share = 5 }")
    text = text.replace('edition = "2026-11"', 'edition = "mine"')
    line = next(k for k, one in enumerate(text.splitlines(), 1) if "share = 5 }" in one)
    said = html.unescape(lasting_bench.post(f"{HOME}/text", data={"text": text}).text)
    assert f"{ID}.toml, line {line}, feature 21, field passing" in said


def test_a_text_keeps_its_comments(bench: TestClient) -> None:
    text = bundled_text(ID).replace('edition = "2026-11"', 'edition = "mine"')
    answer = bench.post(f"{HOME}/text", data={"text": text.replace("\n", "\r\n")})
    assert "edition mine" in words(answer)
    assert (folder(bench) / f"{ID}.toml").read_text("utf-8") == text
    assert "THE MAKER IS INVENTED" in html.unescape(bench.get(f"{HOME}/text").text)


@pytest.mark.parametrize(
    ("data", "name", "told"),
    [
        (b"shape,size\n1,2\n", "s.csv", "column"),
        (CENSUS.replace(b"S13033", b"=1+1"), "s.csv", "a formula stands in this cell"),
        (CENSUS.replace(b"65/07 T", b"99/99 T"), "s.csv", "cannot be used"),
        (b"", "s.csv", "the table is empty"),
        (b"PK\x03\x04", "s.xlsx", "not a workbook"),
        (b"x" * 10_000_000, "s.csv", "too large to be read here"),
    ],
    ids=["shape", "formula", "mark", "empty", "workbook", "10 MB"],
)
def test_a_census_that_cannot_be_used_is_refused_whole(
    lasting_bench: TestClient, data: bytes, name: str, told: str
) -> None:
    answer = finished(lasting_bench, take(lasting_bench, data, name))
    assert answer.status_code == 422
    assert told in html.unescape(answer.text).lower()
    assert shop_of(lasting_bench).census.count(ID) == 0


def test_a_census_is_taken_learned_from_looked_at_and_accepted(bench: TestClient) -> None:
    taken = words(finished(bench, take(bench)))
    assert "30 instruments; the census now holds 30" in taken
    assert "learned from 28 of those added" in taken
    assert finished(bench, take(bench)).status_code == 409  # the same rows again
    seen = words(bench.get(f"{HOME}/feature/f12"))
    assert "teaches nothing: dated by its features only" in seen
    assert "11 show the new" in seen

    said = finished(bench, bench.post(f"{HOME}/learn"))
    told = words(said)
    assert "Learned from 28 instruments; 2 dated by their features only did not teach" in told
    assert "therefore silent: 16, 27" in told
    assert "dashed: the edition before" in told
    assert not folder(bench).exists()  # nothing is written yet

    key = said.url.path.rsplit("/", 1)[1]
    tried = words(finished(bench, bench.post(f"{HOME}/redate", data={"learned": key})))
    assert "What would read differently" in tried
    assert "Keep the new conclusions" not in tried

    done = bench.post(f"{HOME}/accept", data={"key": key})
    assert "learned" in words(done)
    assert present(bench).feature("f12").change[0].learned is not None  # type: ignore[union-attr]
    assert "was changed since" in words(bench.get(said.url.path))
    again = words(finished(bench, bench.post(f"{HOME}/redate")))
    assert "What reads differently now" in again
    assert re.search(r"\d+ dated again; [1-9]\d* moved", again)
    kept = words(finished(bench, bench.post(f"{HOME}/redate", data={"keep": "true"})))
    assert "The new conclusions of census rows are kept" in kept


def test_whether_ranges_held_is_told_with_what_chance_allows(lasting_bench: TestClient) -> None:
    levels = tuple(HeldLevel(one, one - 0.05, one - 0.2, one + 0.1) for one in LEVELS)
    jobs = shop_of(lasting_bench).jobs
    job = jobs.start("census", "hold", ID, lambda _told: Held(levels, 28, 13.0, 4.0))
    assert jobs.wait(job, 5).finished
    said = words(lasting_bench.get(f"{HOME}/work/{job.key}"))
    assert "the 90 % ranges held 85 % of what is known with marks" in said
    assert "90 % 85 % 70 to 100 %" in said
    assert "28 instruments; bars" in said


def test_work_that_goes_on_says_how_far_it_is(lasting_bench: TestClient) -> None:
    jobs, there, go = shop_of(lasting_bench).jobs, Event(), Event()

    def act(told: Progress) -> None:
        told(3, 40)
        there.set()
        go.wait(5)

    job = jobs.start("census", "redate", ID, act, rests_on="slow")
    assert there.wait(5)
    page = lasting_bench.get(f"{HOME}/work/{job.key}")
    assert "3 of 40 instruments" in words(page)
    assert 'http-equiv="refresh"' in page.text
    assert lasting_bench.get(f"/maker/sallowby-lockkeeper/work/{job.key}").status_code in {404, 422}
    assert lasting_bench.post(f"{HOME}/accept", data={"key": job.key}).status_code in {404, 422}
    go.set()
    assert jobs.wait(job, 5).finished


def test_whether_ranges_held_needs_a_census(lasting_bench: TestClient) -> None:
    answer = lasting_bench.post(f"{HOME}/held")
    assert answer.status_code == 422
    assert "too few instruments" in answer.text.lower()


def test_learning_needs_something_to_learn_from(lasting_bench: TestClient) -> None:
    answer = lasting_bench.post(f"{HOME}/learn")
    assert answer.status_code == 422
    assert "nothing to learn from" in answer.text.lower()


@pytest.mark.parametrize("key", ["0" * 24, "zz", "../../x"])
def test_work_that_is_not_there_says_so(lasting_bench: TestClient, key: str) -> None:
    assert lasting_bench.get(f"{HOME}/work/{key}").status_code in {404, 422}
    assert lasting_bench.post(f"{HOME}/accept", data={"key": key}).status_code in {404, 422}


def test_an_open_dossier_is_added_on_purpose_only(bench: TestClient) -> None:
    bench.post(
        f"/dossier/{TAG}/custody",
        data={"event": "received", "giver": "a consignor", "receiver": "examiner A"},
    )
    bench.post(f"/dossier/{TAG}/mark", data={"part": "neck", "text": "65/03 R"})
    assert bench.post(f"{HOME}/dossier", data={"tag": TAG}).status_code == 409
    done = bench.post(f"{HOME}/dossier", data={"tag": TAG, "while_open": "true"})
    assert f"{TAG} in the census, which holds 1" in words(done)
    wrong = bench.post("/maker/sallowby-lockkeeper/dossier", data={"tag": TAG})
    assert wrong.status_code == 422
    assert bench.post(f"{HOME}/dossier", data={"tag": "none"}).status_code == 404


def test_another_maker_begins_as_a_copy_that_says_so(bench: TestClient) -> None:
    form = {"name": "sallowby-skiff", "like": ID, "maker": "Sallowby", "model": "Skiff <i>"}
    answer = bench.post("/makers", data=form)
    said = words(answer)
    assert "<i>" not in answer.text
    assert "Sallowby Skiff" in said
    assert "Begun as a copy of Sallowby Instrument Works Wherry, edition 2026-11" in said
    assert "An invented maker" in said
    assert bench.post("/makers", data=form).status_code == 409
    for wrong in (
        {"name": "../x"},
        {"name": "A B"},
        {"name": "y", "maker": " "},
        {"name": "z", "like": "none"},
    ):
        assert bench.post("/makers", data={**form, **wrong}).status_code in {404, 422}
    assert [one.name for one in folder(bench).iterdir()] == ["sallowby-skiff.toml"]


def test_a_file_that_cannot_be_read_is_named_and_hides_no_other(bench: TestClient) -> None:
    folder(bench).mkdir()
    (folder(bench) / "mine.toml").write_text('schema = "x"\n', "utf-8")
    said = words(bench.get("/makers"))
    assert "mine: not a chronology this program reads" in said
    assert "Sallowby Instrument Works" in said
    assert bench.get("/maker/mine").status_code == 422


def test_only_an_owner_is_shown_what_only_an_owner_may_do(tmp_path: Path) -> None:
    shared = make_shared(tmp_path)
    with opened(shared):
        owner, reader, examiner = (
            shared.signed_in(name) for name in ("examiner A", "a reader", "examiner B")
        )
        money = f"/dossier/{TAG}/money"
        for path in ("/makers", HOME, f"{HOME}/feature/f12", f"{HOME}/text"):
            assert '<button class="go">' in owner.get(path).text
            assert '<button class="go">' not in reader.get(path).text
        assert reader.get(money).status_code == 403
        assert reader.get(f"{money}/statement.pdf").status_code == 403
        assert "A list was searched" in owner.get(money).text
        assert "A list was searched" not in examiner.get(money).text
        change = {"feature": "f12", "first": "1963-02", "last": "1963-12"}
        for device in (reader, examiner):
            assert device.post(f"{HOME}/change", data=change).status_code == 403
        assert owner.post(f"{HOME}/change", data=change).status_code == 303


def test_an_edit_on_the_page_keeps_comments_and_order(bench: TestClient) -> None:
    begun = bundled_text(ID).replace(SHIPPED.edition, "own")
    written = "# Ours: from the ledger of 1963.\n" + begun.replace(
        'id = "f12"', 'id = "f12"  # asked of the foreman'
    )
    assert bench.post(f"{HOME}/text", data={"text": written, "base": ""}).status_code == 200
    assert change(bench, first="1963-03").status_code == 200
    new = (folder(bench) / f"{ID}.toml").read_text("utf-8")
    head, _, rest = new.partition("\n")
    assert head.startswith("# Written at the bench by ")
    before, after = written.splitlines(), rest.splitlines()
    changed = [(one, two) for one, two in zip(before, after, strict=True) if one != two]
    assert len(changed) == 2  # the edition's name, and the change itself
    assert "# asked of the foreman" in rest
    assert present(bench).feature("f12").change[0].first_new == "1963-03"  # type: ignore[union-attr]
