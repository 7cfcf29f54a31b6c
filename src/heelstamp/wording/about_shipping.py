"""What is said of packing, the way, and the parcel that arrives (rule 13 where law is near).

Each prompt defers to who decides: the carrier, the authority of a country, a licensed adviser.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import counted, sentence


@sentence("shipping parcel", "measured", 1)
def parcel(*, weight_g: float, sides: tuple[float, float, float], girth_mm: float) -> str:
    length, width, height = sides
    return (
        f"Parcel: {weight_g:g} g, {length:g} × {width:g} × {height:g} mm; length and girth "
        f"{girth_mm:g} mm, by which some carriers limit what they take."
    )


@sentence("shipping too light", "measured", 9)
def too_light(*, parcel: float, own: float) -> str:
    return f"The parcel weighs {parcel:g} g, the instrument alone {own:g} g: weigh again."


@sentence("shipping tuned down", "seen", 14)
def tuned_down(*, semitones: int) -> str:
    return f"Strings let down by {counted(semitones, 'semitone')}, not slack."


@sentence("shipping not tuned down", "seen", 14)
def not_tuned_down() -> str:
    return (
        "Strings at pitch: let them down by about a tone, not slack. A neck at full tension takes "
        "a knock worse, a slack one moves."
    )


@sentence("shipping no seal", "seen", 9)
def no_seal() -> str:
    return "No seal is entered: nobody can tell later whether the parcel was opened on the way."


@sentence("shipping photographs", "seen", 9)
def packing_frames(*, taken: int, wanting: Sequence[str]) -> str:
    if not wanting:
        return f"Photographs of the packing: all {taken} of the plan."
    return f"Not photographed, or not named with this packing: {'; '.join(wanting)}."


@sentence("shipping no logger", "seen", 9)
def no_logger() -> str:
    return "No logger travels inside: how cold it gets will not be known."


@sentence("shipping cover not asked", "seen", 13)
def cover_not_asked() -> str:
    return "Value and cover on the way are not entered: ask insurer and carrier first."


@sentence("shipping cover short", "measured", 13)
def cover_short(*, short: str, value: str) -> str:
    return f"{short} of the value of {value} is not covered on the way."


@sentence("shipping limit not asked", "seen", 13)
def limit_not_asked() -> str:
    return (
        "The carrier's own limit is not entered: conditions of carriage often cap what is paid, "
        "and leave instruments out. Ask before it goes."
    )


@sentence("shipping beyond limit", "measured", 13)
def beyond_limit(*, limit: str, cover: str) -> str:
    return (
        f"Cover of {cover} is above the carrier's limit of {limit}: who bears the rest? Ask the "
        "insurer in writing."
    )


@sentence("shipping route not known", "seen", 13)
def route_not_known(*, route: str) -> str:
    return (
        f"This route is not known here ({route}): ask its authority about protected species, "
        "import and antiques before anything is promised."
    )


@sentence("shipping batteries", "opinion", 13)
def batteries() -> str:
    return (
        "Is a battery inside: an active circuit, a tuner in the case, the logger? Carriers and air "
        "transport have rules for lithium cells: ask the carrier, or take it out."
    )


@sentence("shipping customs", "opinion", 13)
def customs(*, route: str) -> str:
    return (
        f"Does it cross a border of customs on its way to {route}? Duty, tax, age and value are "
        "declared to the authority; a false value is an offence in most places."
    )


@sentence("shipping distance sale", "opinion", 13)
def distance_sale(*, days: int, law: int) -> str:
    return (
        "Is the buyer a consumer who bought at a distance? In the EU they may withdraw within "
        f"{law} days of delivery (Directive 2011/83/EU, article 9), and must be told so; the terms "
        f"give {days}. Other places have other rules: ask who may advise."
    )


@sentence("shipping window short", "opinion", 13)
def window_short(*, days: int, law: int) -> str:
    return (
        f"The terms give a buyer {days} days to return it; in the EU a consumer who bought at a "
        f"distance has {law} (Directive 2011/83/EU, article 9). Ask who may advise before it goes."
    )


@sentence("shipping journey", "measured", 1)
def journey(*, first: str, last: str, coldest: float, warmest: float, steepest: float) -> str:
    return (
        f"On the way from {first} to {last}: {coldest:.1f} to {warmest:.1f} °C inside, at most "
        f"{steepest:.1f} K within an hour."
    )


@sentence("shipping was cold", "inferred", 14)
def was_cold(*, limit: float, hours: int) -> str:
    return (
        f"It was below {limit:g} °C: leave the parcel closed in the room for {hours} hours after "
        "that. Lacquer that is cold and warmed fast cracks; wood lags behind the air inside."
    )


@sentence("shipping release", "inferred", 14)
def release(*, at: str) -> str:
    return f"Open it not before {at} by the logger's clock, and read the temperature inside again."


@sentence("shipping release unknown", "inferred", 9)
def release_unknown() -> str:
    return "When it may be opened cannot be said from these readings: let the logger run on."
