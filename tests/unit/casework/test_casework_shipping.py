"""Packing and the logger of a parcel: what is read, what is said, when it may be opened."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

import pytest

from fakes.stores import INSTRUMENT, memory_shop
from heelstamp.casework.dossier import append, open_dossier, state_of
from heelstamp.casework.shipping.logger import Reading, journey, read_log
from heelstamp.casework.shipping.packing import packing_shots, packing_told, route_prompts
from heelstamp.catalogue import Packing
from heelstamp.errors import InputError
from heelstamp.mechanics.condensation import MARGIN_K, dew_point_c
from heelstamp.media.spreadsheets import read_rows
from heelstamp.reference.photo_plan import load_photo_plan

START = datetime(2026, 1, 10, 8, 0)  # noqa: DTZ001 (the logger's clock)


def log(text: str, order: str = "") -> tuple[Reading, ...]:
    return read_log(read_rows(text.encode(), "log.csv"), order=order)  # type: ignore[arg-type]


def warming(from_c: float, room_c: float, tau_h: float, hours: float) -> list[Reading]:
    """A box that warms toward the room by Newton's law, a reading a minute."""
    return [
        Reading(
            START + timedelta(minutes=minute),
            room_c - (room_c - from_c) * math.exp(-minute / 60 / tau_h),
            50.0,
        )
        for minute in range(int(hours * 60) + 1)
    ]


def test_loggers_as_they_write() -> None:
    plain = log("Time,Temperature (°C),RH (%)\n2026-01-10 08:00,4.5,40\n2026-01-10 08:10,5.0,41\n")
    assert [(one.celsius, one.humidity) for one in plain] == [(4.5, 40.0), (5.0, 41.0)]
    german = log(
        "Logger 7\nDatum/Zeit;Temperatur °C;Feuchte %\n"
        "10.01.2026 08:00;4,5;40,5\n10.01.2026 08:10:30;-5,0;41\n"
    )
    assert [one.celsius for one in german] == [4.5, -5.0]
    assert german[1].at == datetime(2026, 1, 10, 8, 10, 30)  # noqa: DTZ001
    american = log("Date Time,Temp °F\n01/13/2026 08:00,41\n01/13/2026 09:00,50\n")
    assert [(one.at.day, round(one.celsius, 6)) for one in american] == [(13, 5.0), (13, 10.0)]


def test_days_that_may_be_months_are_asked_for() -> None:
    text = "Time,Temp\n02/03/2026 08:00,4\n02/03/2026 09:00,5\n"
    with pytest.raises(InputError, match="cannot be told apart"):
        log(text)
    assert log(text, "dmy")[0].at.month == 3
    assert log(text, "mdy")[0].at.month == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Time,Damp\n2026-01-10 08:00,4\n", "no row names a time and a temperature"),
        ("Time,Temp\n2026-01-10 08:00,4\n", "fewer than two readings"),
        ("Time,Temp\n2026-01-10 08:00,4\n2026-01-10 07:00,5\n", "does not run forward"),
        ("Time,Temp\n2026-01-10 08:00,4\n2026-13-10 09:00,5\n", "not a time"),
        ("Time,Temp\n2026-01-10 08:00,4\n2026-01-10 09:00,warm\n", "not a number"),
        ("Time,Temp\n2026-01-10 08:00,4\n2026-01-10 09:00,400\n", "that no parcel has"),
    ],
)
def test_a_log_that_cannot_be_read_says_where(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        log(text)


def test_the_release_is_when_newtons_law_clears_the_dew_point() -> None:
    room_c, room_rh, tau = 21.0, 60.0, 5.0
    readings = warming(12.0, room_c, tau, 1.0)
    found = journey(readings, room_c=room_c, room_rh=room_rh)
    dew = dew_point_c(room_c, room_rh)
    # T(t) = room - (room - 12) exp(-t / tau) reaches dew + margin
    exact = tau * math.log((room_c - 12.0) / (room_c - dew - MARGIN_K))
    assert found.safe.wait_h is not None
    assert found.safe.wait_h + 1.0 == pytest.approx(exact, abs=0.15)
    assert not found.open_now
    assert found.release is None or found.release >= START + timedelta(hours=exact)
    later = journey(warming(12.0, room_c, tau, 24.0), room_c=room_c, room_rh=room_rh)
    assert later.open_now


def test_a_parcel_that_was_cold_stays_closed_for_a_day_besides() -> None:
    readings = warming(-5.0, 21.0, 1.0, 12.0)
    found = journey(readings, room_c=21.0, room_rh=45.0)
    cold_until = max(one.at for one in readings if one.celsius < 10.0)
    assert found.safe.open_now
    assert found.release == cold_until + timedelta(hours=24)
    assert not found.open_now
    assert any("below 10 °C" in one for one in found.sentences)
    # 26 K within the first hours: the steepest hour of Newton's law is the first
    assert found.steepest == pytest.approx(26.0 * (1 - math.exp(-1.0)), abs=0.01)


def packing(**told: Any) -> Packing:
    plain: dict[str, Any] = {"id": "k1", "day": "2026-01-09", "route": "US", "weight_g": 6200.0}
    sides = {"length_mm": 1200.0, "width_mm": 450.0, "height_mm": 180.0}
    return Packing(**{**plain, **sides, **told})


def test_a_packing_says_what_it_lacks_and_what_is_not_covered() -> None:
    shop = memory_shop()
    open_dossier(shop, {**INSTRUMENT, "tag": "W-0001"}, at="2026-01-01T09:00:00Z", by="examiner A")
    taken = {"event": "received", "giver": "a", "receiver": "b", "weight_g": 6300.0}
    at = "2026-01-01T09:01:00Z"
    append(shop, "W-0001", "custody", {"id": "c1", **taken}, at=at, by="examiner A")
    state = state_of(shop, "W-0001")
    shots = packing_shots(state, load_photo_plan())
    assert [one.slot.id for one in shots] == [
        "packed",
        "loose-bagged",
        "parcel-open",
        "parcel-sealed",
    ]
    told = " ".join(packing_told(packing(), state, shots))
    for words in (
        "length and girth 2460 mm",  # 1200 + 2 (450 + 180)
        "weigh again",
        "about a tone, not slack",
        "No seal",
        "not named with this packing: packed; loose parts, bagged apart; case in",
        "No logger",
        "ask insurer and carrier",
    ):
        assert words in told
    sums = {"value": "9100", "cover": "8000", "limit": "5000", "currency": "USD"}
    told = " ".join(packing_told(packing(tuned_down=2, seal="tape 7", **sums), state, shots))
    assert "1,100 USD of the value of 9,100 USD is not covered" in told
    assert "above the carrier's limit of 5,000 USD" in told
    assert "2 semitones" in told
    whole = {**sums, "cover": "9100", "limit": "10000"}
    told = " ".join(packing_told(packing(**whole), state, shots))
    assert "limit of" not in told
    assert "not covered" not in told


def test_an_unknown_route_is_told_to_be_unknown_and_a_short_window_is_named() -> None:
    told = route_prompts("JP", known=False, window_days=14)
    assert told[0].startswith("This route is not known here (JP): ask its authority")
    assert "not known" not in " ".join(route_prompts("EU", known=True, window_days=14))
    short = " ".join(route_prompts("EU", known=True, window_days=7))
    # Directive 2011/83/EU, article 9 (1): 14 days
    assert "7 days" in short
    assert "has 14" in short
