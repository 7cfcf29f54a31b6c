"""The pitch of one plucked note from its recording: the fitted string.

One Fourier transform of the stretch from 0.02 to 2.2 s after the pluck serves twice: its peaks tell
which note sounds and where its partials lie, and its bands are the partials brought down to nought.
Each is fitted as a damped sinusoid, or as two that beat; the frequencies are fitted with the law of
the stiff string; f1 = f0 sqrt(1 + B) is the pitch. Points before 0.2 s serve the glide alone.

What is measured is the settled first partial of the string that fits best, not the pitch an ear
perceives. Where it does not hold: muted, clipped, distorted and doubled notes, which are refused;
frets above the 17th of the treble strings, where few partials lie below 6.5 kHz and the interval
widens by itself. The recorder's clock (often 20 to 100 parts in a million, 0.03 to 0.17 cents)
shifts all notes of a recorder alike and is in no interval; between two notes of one recorder it
falls out.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics import notes, refusals
from heelstamp.acoustics.clipping import clipped_runs
from heelstamp.acoustics.finding import NotePitch, Partial, Reason
from heelstamp.acoustics.glide import LATER_S
from heelstamp.acoustics.law_fit import LawFit, fit_law
from heelstamp.acoustics.partial_set import SETTLED_S, PartialSet, measure
from heelstamp.acoustics.pluck import HOP_S, Pluck, find_pluck
from heelstamp.acoustics.sounding import Sounding, choose_note
from heelstamp.acoustics.spectrum_peaks import find_peaks, transform

Reals = NDArray[np.float64]

BEGIN_S, END_S = 0.02, 2.2
"""Of the stretch, since the pluck."""
LEAST_S = 0.45
FULL_S = 1.5
SILENT = 10 ** (-80 / 20)
LEAST_CLIPS = 3
"""Plateaus that are no chance."""
STEADY_DECAY = 0.03
MUTED_DECAY = 12.0
ROUGH_CENTS, WIDE_CENTS = 6.0, 1.0
"""Scatter about the law that is refused, and that is said."""
OCTAVE_CENTS, OCTAVE_RATIO, OCTAVE_PARTIALS = 0.8, 3.0, 16
SMOOTH_CENTS = 0.3
"""Odd partials of one clean string stay this smooth about any law near theirs."""
LOCKED_B = 6e-6
"""Partials in whole ratios: the thinnest plain string has more stiffness than this."""
LOCKED_PARTIALS = 5
FEW = 4


def pitch(samples: NDArray[np.floating], rate_hz: int, *, note: str | None = None) -> NotePitch:
    """Measure the pitch of one plucked note.

    Parameters
    ----------
    samples
        Shape (n,), one channel, relative to full scale, finite.
    rate_hz
        16,000 to 96,000.
    note
        Name of the note that was played, as "E2"; found when None. A sounding note further than
        2.5 semitones from it is refused as another string.

    Returns
    -------
    NotePitch
        With ``reasons`` when the note cannot be measured.

    Raises
    ------
    InputError
        The name is not one of a note.
    """
    midi = None if note is None else notes.midi_of(note)
    named = note is not None
    if not len(samples) or float(np.abs(samples).max()) < SILENT:
        return NotePitch(midi, named, 0.0, 0.0, 0.0, (refusals.silent(),))
    pluck = find_pluck(samples, rate_hz)
    begin, end = pluck.start_s + BEGIN_S, min(pluck.end_s - 0.005, pluck.start_s + END_S)
    blank = NotePitch(midi, named, begin, max(end, begin), pluck.start_s)
    stretch = samples[int(begin * rate_hz) : max(int(end * rate_hz), 0)]
    unusable = _unusable(samples, stretch, end - begin)
    if unusable is not None:
        return replace(blank, reasons=(unusable,))
    spectrum = transform(stretch, rate_hz)
    sounding = choose_note(find_peaks(spectrum), midi)
    if isinstance(sounding, Reason):
        return replace(blank, reasons=(sounding,))
    return _fitted(blank, pluck, sounding, measure(spectrum, sounding, BEGIN_S))


def _unusable(
    samples: NDArray[np.floating], stretch: NDArray[np.floating], seconds: float
) -> Reason | None:
    """Judge the stretch before anything is looked for in it."""
    if seconds < LEAST_S:
        heard = float(np.abs(samples).max()) > 10 * SILENT
        short = refusals.too_short(max(seconds, 0.0), LEAST_S)
        return short if heard else refusals.silent()
    clips = clipped_runs(stretch)
    return refusals.clipped(clips) if clips >= LEAST_CLIPS else None


def _fitted(blank: NotePitch, pluck: Pluck, sounding: Sounding, partials: PartialSet) -> NotePitch:
    """Fit the law to measured partials, and judge it."""
    blank = replace(
        blank,
        midi=sounding.midi,
        glide=partials.glide,
        course=partials.course,
        mains_hz=None if sounding.mains is None else sounding.mains.hz,
    )
    if not partials.usable.any():
        listed = _listed(partials, partials.usable, None)
        return replace(blank, reasons=(refusals.too_few(0),), partials=listed)
    law = fit_law(
        partials.numbers, partials.hz, partials.hz_sigma, partials.usable, partials.width_cents
    )
    blank = replace(blank, partials=_listed(partials, law.used, law))
    reasons = _reasons(partials, law)
    if reasons:
        return replace(blank, reasons=reasons)
    return _told(blank, pluck, sounding, partials, law)


def _told(
    blank: NotePitch, pluck: Pluck, sounding: Sounding, partials: PartialSet, law: LawFit
) -> NotePitch:
    first = bool(partials.usable[0])
    glide = partials.glide
    settled, later = glide.adds(law.by_one)
    bent, _ = glide.adds(law.by_bend)
    if glide.accepted:
        later = float(np.hypot(later, glide.fall.slope_at(LATER_S) * HOP_S / np.sqrt(3.0)))
    above = float(glide.at(np.array(LATER_S))) if glide.accepted else 0.0
    cents = notes.cents(law.f1_hz, notes.hz_of(sounding.midi))
    return replace(
        blank,
        limits=_limits(pluck, blank, law),
        f1_hz=law.f1_hz,
        cents=cents,
        later_cents=cents + above,
        later_cents_sigma=float(np.hypot(law.cents_sigma, later)),
        cents_sigma=float(np.hypot(law.cents_sigma, settled)),
        quantile=law.quantile,
        f0_hz=law.f0_hz,
        b=law.b,
        b_sigma=float(np.hypot(law.b_sigma, bent)),
        first_hz=float(partials.hz[0]) if first else None,
        first_sigma_hz=float(partials.hz_sigma[0]) if first else None,
        model_cents=law.model_cents,
    )


def _reasons(partials: PartialSet, law: LawFit) -> tuple[Reason, ...]:
    """Judge the fitted partials."""
    used, fitted = law.used, partials.fitted
    settled = fitted.level * np.exp(-np.clip(fitted.decay, 0.0, 60.0) * SETTLED_S)
    energy = np.where(used, settled**2, 0.0)
    decay = float((energy * fitted.decay).sum() / energy.sum())
    if decay < STEADY_DECAY:
        return (refusals.steady(law.f1_hz),)
    if decay > MUTED_DECAY:
        return (refusals.damped(1.0 / decay),)
    if law.model_cents > OCTAVE_CENTS and _evens_apart(partials, law):
        return (refusals.two_notes(law.f1_hz, 2.0 * law.f1_hz),)
    if law.model_cents > ROUGH_CENTS:
        return (refusals.scattered(law.model_cents),)
    most_b = law.b + law.quantile * law.b_sigma
    if int(used.sum()) >= LOCKED_PARTIALS and most_b < LOCKED_B:
        return (refusals.whole_ratios(most_b),)
    return ()


def _evens_apart(partials: PartialSet, law: LawFit) -> bool:
    """Tell an octave played along: it pulls the even partials and leaves the odd ones alone."""
    low = partials.usable & (partials.numbers <= OCTAVE_PARTIALS)
    even, odd = low & (partials.numbers % 2 == 0), low & (partials.numbers % 2 == 1)
    if even.sum() < 4 or odd.sum() < 4:
        return False
    uneven, smooth = (_roughness(law.residual_cents[half]) for half in (even, odd))
    return smooth < SMOOTH_CENTS and uneven > OCTAVE_RATIO * max(smooth, 0.05)


def _roughness(residual: Reals) -> float:
    """How unsmooth residuals are; a law bent by the others leaves them smooth."""
    return float(np.median(np.abs(np.diff(residual, 2))))


def _limits(pluck: Pluck, blank: NotePitch, law: LawFit) -> tuple[Reason, ...]:
    told: list[Reason] = []
    used = int(law.used.sum())
    if blank.end_s - blank.begin_s < FULL_S:
        why = {"a hand": "a hand stopped it", "another pluck": "another pluck follows"}
        ended = why.get(pluck.ended_by, "the recording ends")
        told.append(
            Reason(
                "short",
                f"only {blank.end_s - blank.begin_s:.2f} s could be used; {ended}",
                "Let the note ring for three seconds.",
            )
        )
    if used < FEW:
        told.append(
            Reason(
                "few partials",
                f"{used} partials could be used: B is not to be relied on",
                "Pluck nearer to the bridge, with a plectrum.",
            )
        )
    if law.model_cents > WIDE_CENTS:
        told.append(
            Reason(
                "rough",
                f"partials scatter by {law.model_cents:.1f} cents about the string's law; the "
                "interval is wider for it",
                "Record from the jack without amplifier or effect; an old or dirty string does it.",
            )
        )
    return tuple(told)


def _listed(
    partials: PartialSet, used: NDArray[np.bool_], law: LawFit | None
) -> tuple[Partial, ...]:
    fitted = partials.fitted
    listed: list[Partial] = []
    for place, number in enumerate(partials.numbers):
        why = partials.why_not[place]
        if not why and not used[place]:
            why = "off the law that the others follow" if law is not None else "not fitted"
        decay = float(fitted.decay[place])
        listed.append(
            Partial(
                number=int(number),
                hz=float(partials.hz[place]),
                hz_sigma=float(partials.hz_sigma[place]),
                level_db=float(20.0 * np.log10(max(float(fitted.level[place]), 1e-12))),
                decay_s=1.0 / decay if decay > 1e-3 else None,
                beats_hz=float(fitted.second_hz[place]) if fitted.chance_two[place] > 0.5 else None,
                off_law_cents=None if law is None else float(law.residual_cents[place]),
                used=bool(used[place]),
                why_not=why,
            )
        )
    return tuple(listed)
