"""The lamp log against worked numbers of the published eye limit.

ICNIRP, Health Physics 87(2) (2004) 171-186: 10 000 J/m² of 315-400 nm in eight hours, so 1000 s at
10 W/m² and 333 s at 30 W/m².
"""

from typing import Any

import pytest

from heelstamp.casework.lamp import lamp_log
from heelstamp.catalogue import fold
from heelstamp.catalogue.journal import Entry
from heelstamp.errors import InputError


def state(*bodies: tuple[str, str, dict[str, Any]]) -> Any:
    opening = {
        "kind": "guitar",
        "maker": "Sallowby Instrument Works",
        "model": "Wherry",
        "chronology": "sallowby-wherry",
        "tag": "H-0001",
    }
    acts = [("instrument", "2026-11-02", opening), *bodies]
    return fold(
        Entry(
            seq=n,
            at=f"{day}T09:14:00Z",
            by="examiner A",
            kind=kind,
            body=body,
            previous=None,
            digest="0" * 64,
        )
        for n, (kind, day, body) in enumerate(acts, start=1)
    )


def level(id_: str, value: float, quantity: str = "UV-A irradiance") -> Any:
    body = {"id": id_, "quantity": quantity, "part": "finish", "value": value, "unit": "W/m²"}
    return "measurement", "2026-11-02", {**body, "stage": "found"}


def lit(id_: str, day: str, minutes: float, act: str = "UV-A lamp") -> Any:
    return (
        "treatment",
        day,
        {
            "id": id_,
            "act": act,
            "part": "finish",
            "minutes": minutes,
            "reason": "pairs",
            "reversible": True,
        },
    )


def test_a_thousand_seconds_at_ten_watts_are_the_limit() -> None:
    log = lamp_log(state(level("m1", 10.0), lit("t1", "2026-11-04", 1000 / 60)))
    (day,) = log.days
    assert day.dose.received == pytest.approx(10_000)
    assert day.dose.share == pytest.approx(1.0)
    assert log.data()["permitted_s"] == pytest.approx(1000)
    assert lamp_log(state(level("m1", 30.0))).data()["permitted_s"] == pytest.approx(333.3, abs=0.1)


def test_minutes_add_up_within_a_day_and_not_over_days() -> None:
    log = lamp_log(
        state(
            level("m1", 10.0),
            lit("t1", "2026-11-04", 4.0),
            lit("t2", "2026-11-04", 5.0),
            lit("t3", "2026-11-05", 20.0),
            lit("t4", "2026-11-05", 60.0, act="lift guard"),
        )
    )
    assert [(one.day, one.minutes) for one in log.days] == [
        ("2026-11-04", 9.0),
        ("2026-11-05", 20.0),
    ]
    assert [one.dose.over for one in log.days] == [False, True]
    told = log.sentences
    assert told[0].endswith("after 16.7 min.")
    assert told[1] == "2026-11-04: 9.0 min, 5400 J/m², 54 % of the limit; 7.7 min left."
    assert "over the limit: no more today" in told[2]
    assert "goggles" in told[-2]


def test_the_strongest_lamp_entered_counts() -> None:
    log = lamp_log(state(level("m1", 10.0), level("m2", 30.0), lit("t1", "2026-11-04", 1.0)))
    assert log.days[0].dose.received == pytest.approx(1800)


def test_without_irradiance_there_is_no_dose() -> None:
    for entries in ((), (level("m1", 0.0),), (level("m1", 10.0, "daylight"),)):
        with pytest.raises(InputError, match="no irradiance"):
            lamp_log(state(*entries))
