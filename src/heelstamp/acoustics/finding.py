"""What a note's recording says: pitch with its uncertainty, or why nothing is said."""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.acoustics.glide import Course, Glide


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a note is refused, or what weakens its figures.

    Attributes
    ----------
    code
        Short and stable, for programs.
    found
        What was found, with its figure.
    remedy
        How to record the note better.
    """

    code: str
    found: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Partial:
    """One partial as measured.

    Attributes
    ----------
    number
        1 for the first.
    hz, hz_sigma
        Settled frequency and its standard uncertainty from noise.
    level_db
        At the beginning of the stretch, relative to full scale.
    decay_s
        Time in which the amplitude falls to 1/e; None when it does not fall.
    beats_hz
        Distance of a second polarisation that was told apart; None without one.
    off_law_cents
        Above the fitted string's law; None when nothing was fitted.
    used
        Whether it entered the fit.
    why_not
        Why not; empty when it did.
    """

    number: int
    hz: float
    hz_sigma: float
    level_db: float
    decay_s: float | None
    beats_hz: float | None
    off_law_cents: float | None
    used: bool
    why_not: str


@dataclass(frozen=True, slots=True, eq=False)
class NotePitch:
    """The pitch of one plucked note.

    Attributes
    ----------
    midi, named
        The note that cents count from, and whether it was named rather than found.
    f1_hz
        Settled first partial of the fitted string; None when refused.
    cents, cents_sigma, quantile
        f1 above the note in equal temperament, its standard uncertainty, and the factor from there
        to half of the 90 % interval. The recorder's clock is not in it.
    later_cents, later_cents_sigma
        The same first partial 1 s after the pluck, and its standard uncertainty; it differs from
        `cents` by what is left of a glide, and lies within the recording.
    f0_hz, b, b_sigma
        Of the law f_n = n f0 sqrt(1 + B n²).
    first_hz, first_sigma_hz
        The first partial as measured by itself; None when it was not usable.
    glide
        Common course after the pluck; None when nothing was measured.
    partials
        All that were looked for, used or not.
    model_cents
        Error of the law that the partials themselves show.
    course
        Pitch over time, for pictures.
    begin_s, end_s
        Of the stretch used, in the recording; ``pluck_s`` the pluck.
    mains_hz
        Measured frequency of mains hum; None without hum.
    reasons
        Why the note is refused; empty when it is not.
    limits
        What weakens the figures without refusing them.
    """

    midi: int | None
    named: bool
    begin_s: float
    end_s: float
    pluck_s: float
    reasons: tuple[Reason, ...] = ()
    limits: tuple[Reason, ...] = ()
    f1_hz: float | None = None
    cents: float | None = None
    cents_sigma: float | None = None
    quantile: float = 1.645
    later_cents: float | None = None
    later_cents_sigma: float | None = None
    f0_hz: float | None = None
    b: float | None = None
    b_sigma: float | None = None
    first_hz: float | None = None
    first_sigma_hz: float | None = None
    glide: Glide | None = None
    partials: tuple[Partial, ...] = ()
    model_cents: float | None = None
    course: Course | None = None
    mains_hz: float | None = None

    @property
    def measured(self) -> bool:
        """Whether there is a pitch."""
        return not self.reasons

    @property
    def cents_90(self) -> tuple[float, float] | None:
        """The 90 % interval of the cents."""
        if self.cents is None or self.cents_sigma is None:
            return None
        half = self.quantile * self.cents_sigma
        return self.cents - half, self.cents + half

    @property
    def later_cents_90(self) -> tuple[float, float] | None:
        """The 90 % interval of the cents 1 s after the pluck."""
        if self.later_cents is None or self.later_cents_sigma is None:
            return None
        half = self.quantile * self.later_cents_sigma
        return self.later_cents - half, self.later_cents + half

    @property
    def b_90(self) -> tuple[float, float] | None:
        """The 90 % interval of B."""
        if self.b is None or self.b_sigma is None:
            return None
        half = self.quantile * self.b_sigma
        return self.b - half, self.b + half
