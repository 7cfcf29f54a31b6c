"""What a recorded note came to, as plain values for programs and sentences for people.

Intervals are of 90 %. They hold noise, the scatter of the partials about the string's law, and the
glide; they do not hold the recorder's clock.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.acoustics import NotePitch, Partial, Reason, StringIntonation
from heelstamp.acoustics.glide import LATER_S
from heelstamp.acoustics.notes import hz_of, name_of
from heelstamp.acoustics.recording import Recording

CLOCK = "The recorder's clock, often 0.03 to 0.17 cents off, is in no interval."


@dataclass(frozen=True, slots=True, eq=False)
class PitchFinding:
    """The pitch of one recording.

    Attributes
    ----------
    recording
        What was listened to.
    pitch
        What the engine says.
    digest
        SHA-256 of everything the answer depends on.
    """

    recording: Recording
    pitch: NotePitch
    digest: str

    @property
    def measured(self) -> bool:
        """Whether there is a pitch."""
        return self.pitch.measured

    @property
    def note(self) -> str | None:
        """Name of the note that cents count from; None when none was named or found."""
        return None if self.pitch.midi is None else name_of(self.pitch.midi)

    def data(self) -> dict[str, Any]:
        """The finding as plain values."""
        one = self.pitch
        glide = one.glide if one.measured else None
        found = glide is not None and glide.accepted
        return {
            "name": self.recording.name,
            "note": self.note,
            "named": one.named,
            "f1_hz": _rounded(one.f1_hz, 6),
            "f1_hz_90": self.hz_90(),
            "cents": _rounded(one.cents, 4),
            "cents_90": _pair(one.cents_90, 4),
            "cents_at_1_s": _rounded(one.later_cents, 4),
            "cents_at_1_s_90": _pair(one.later_cents_90, 4),
            "note_hz": None if one.midi is None else round(hz_of(one.midi), 6),
            "B": _significant(one.b),
            "B_90": None if one.b_90 is None else [_significant(b) for b in one.b_90],
            "f0_hz": _rounded(one.f0_hz, 6),
            "first_partial_hz": _rounded(one.first_hz, 6),
            "first_partial_hz_90": None
            if one.first_hz is None or one.first_sigma_hz is None
            else _pair(
                (
                    one.first_hz - 1.645 * one.first_sigma_hz,
                    one.first_hz + 1.645 * one.first_sigma_hz,
                ),
                6,
            ),
            "glide_cents": None if glide is None else round(glide.cents, 3) if found else 0.0,
            "glide_found": found,
            "glide_tau_s": round(glide.tau_s, 3) if glide is not None and found else None,
            "model_cents": _rounded(one.model_cents, 4),
            "partials": [_partial(partial) for partial in one.partials],
            "used_s": [round(one.begin_s, 4), round(one.end_s, 4)],
            "mains_hz": _rounded(one.mains_hz, 3),
            "channel": self.recording.channel,
            "how_chosen": self.recording.how_chosen,
            "coding": self.recording.coding,
            "rate_hz": self.recording.rate_hz,
            "refused": None if one.measured else [_sentence(reason) for reason in one.reasons],
            "refusals": [_reason(reason) for reason in one.reasons],
            "limits": [_reason(reason) for reason in one.limits],
            "digest": self.digest,
        }

    def hz_90(self) -> list[float] | None:
        """The 90 % interval of f1 in Hz."""
        one = self.pitch
        if one.f1_hz is None or one.cents is None or one.cents_90 is None:
            return None
        return [round(one.f1_hz * 2.0 ** ((edge - one.cents) / 1200.0), 6) for edge in one.cents_90]

    def remarks(self) -> list[str]:
        """Refusals and limits as sentences."""
        told = [_sentence(reason) for reason in (*self.pitch.reasons, *self.pitch.limits)]
        if self.recording.lossy:
            told.append(f"{self.recording.coding} throws sound away; weak partials may be its own.")
        if self.recording.channels > 1:
            how, channel = self.recording.how_chosen, self.recording.channel
            told.append(how[0].upper() + how[1:] + (f" (channel {channel})." if channel else "."))
        return told


@dataclass(frozen=True, slots=True)
class IntonationFinding:
    """One string's fretted note against its open one, with the recordings' names."""

    string: StringIntonation
    open_name: str
    fretted_name: str

    def data(self) -> dict[str, Any]:
        """The row as plain values; ``cents`` and ``uncertainty`` are what a saddle needs."""
        one = self.string
        half = one.quantile * one.cents_sigma
        return {
            "string": one.string,
            "fret": one.fret,
            "open": self.open_name,
            "fretted": self.fretted_name,
            "at_s": LATER_S,
            "cents": round(one.cents, 4),
            "uncertainty": round(one.cents_sigma, 4),
            "cents_90": [round(one.cents - half, 4), round(one.cents + half, 4)],
            "B_ratio": round(one.b_ratio, 4),
            "B_ratio_uncertainty": round(one.b_ratio_sigma, 4),
            "one_string": one.one_string,
        }


def _partial(one: Partial) -> dict[str, Any]:
    return {
        "n": one.number,
        "hz": round(one.hz, 5),
        "hz_sigma": _significant(one.hz_sigma),
        "level_db": round(one.level_db, 1),
        "decay_s": _rounded(one.decay_s, 3),
        "beats_hz": _rounded(one.beats_hz, 3),
        "off_law_cents": _rounded(one.off_law_cents, 4),
        "used": one.used,
        "why_not": one.why_not or None,
    }


def _reason(reason: Reason) -> dict[str, str]:
    return {"code": reason.code, "found": reason.found, "remedy": reason.remedy}


def _sentence(reason: Reason) -> str:
    return f"{reason.found[0].upper()}{reason.found[1:]} ({reason.code}). {reason.remedy}"


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def _significant(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.5e}")


def _pair(edges: tuple[float, float] | None, places: int) -> list[float] | None:
    return None if edges is None else [round(edge, places) for edge in edges]
