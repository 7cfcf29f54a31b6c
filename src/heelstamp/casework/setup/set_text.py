"""A set of strings written the way the trade writes it, read into constructions and masses.

    .009 .011 .016 plain, .024 .032 .042 wound on .013 .015 .016
    9 11 16 24w 32w 42w
    nickel .010 .013 .017 .026w.0135 .036w .046w
    .045f .065f 2.16mm w 0.583g/300mm

The highest string comes first. A gauge is in inches (``.009``), thousandths (``9``) or millimetres
(``0.23mm``); ``w`` is round-wound, ``f`` flat-wound, a second gauge behind the letter the core. In
words, *plain*, *wound* or *flat* name the kind of all gauges since the last such word, and *on*
gives their cores. A gauge without a kind is wound above .020 in, which is said. A weighed off-cut
is mass over length. Words before the first gauge name the wrap's material. What is not said is
assumed, and each assumption is listed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from heelstamp.errors import InputError
from heelstamp.mechanics import Construction, Estimate, WireMaterial, mass_per_metre
from heelstamp.mechanics.cores import CORE_DOUBT_MM, MM_PER_INCH, assumed_core_mm
from heelstamp.mechanics.windings import weighed_off_cut, wound

LABEL_DOUBT_MM = 0.005
"""Standard uncertainty of a labelled gauge, mm; wire tolerance from memory (±0.0003 in)."""
SCALE_DOUBT_G, RULE_DOUBT_MM = 0.01, 0.5
"""A bench balance and a steel rule, when the text gives no uncertainty; judgement."""
WOUND_ABOVE_IN = 0.0205
FORM = "Write the set as .009 .011 .016 plain, .024 .032 .042 wound; or as 9 11 16 24w 32w 42w."

_GAUGE = r"(?:\d+(?:\.\d+)?|\.\d+)(?:mm)?"
_STRING = re.compile(rf"({_GAUGE})(?:(p|w|f)({_GAUGE})?)?")
_AMOUNT = r"(\d*\.?\d+)(?:(?:±|\+-)(\d*\.?\d+))?"
_WEIGHED = re.compile(rf"{_AMOUNT}g/{_AMOUNT}mm")
_KINDS = {
    "plain": "p",
    "wound": "w",
    "roundwound": "w",
    "round-wound": "w",
    "flat": "f",
    "flatwound": "f",
    "flat-wound": "f",
}
_FILLERS = frozenset({"and", "set", "of", "cores", "core", "assumed", "strings", "wire"})
_MATERIALS = {
    "plated steel": "plated_steel",
    "nickel-plated steel": "plated_steel",
    "steel": "steel",
    "nickel": "nickel",
    "stainless steel": "stainless",
    "stainless": "stainless",
    "phosphor bronze": "phosphor_bronze",
    "bronze": "bronze_80_20",
    "brass": "bronze_80_20",
}


@dataclass(frozen=True, slots=True)
class StringSpec:
    """One string of a set.

    Attributes
    ----------
    label
        As it is shown: ``.024 wound``.
    mass_kg_m
        Mass per metre.
    diameter_mm, core_mm, modulus_pa
        Outer diameter and core, None for a weighed off-cut of unknown make; modulus of the core.
    assumed
        What the text left open: kind of thing, and what was taken.
    """

    label: str
    mass_kg_m: Estimate
    diameter_mm: float | None
    core_mm: float | None
    modulus_pa: float | None
    assumed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class StringSet:
    """A set as it was written, and its strings, the highest first."""

    text: str
    strings: tuple[StringSpec, ...]

    @property
    def masses(self) -> tuple[tuple[str, Estimate], ...]:
        """Label and mass per metre of each string."""
        return tuple((one.label, one.mass_kg_m) for one in self.strings)

    @property
    def assumed(self) -> tuple[str, ...]:
        """What the text left open, one sentence for each kind of thing."""
        told: dict[str, list[str]] = {}
        for one in self.strings:
            for kind, what in one.assumed:
                told.setdefault(kind, []).append(what)
        return tuple(f"{kind}: {', '.join(what)}." for kind, what in told.items())


@dataclass(frozen=True, slots=True)
class _Gauge:
    written: str
    mm: float
    kind: str | None = None
    core_mm: float | None = None


def read_set(text: str, materials: Mapping[str, WireMaterial], *, name: str = "set") -> StringSet:
    """Read a set of strings.

    Parameters
    ----------
    text
        See the head of this module.
    materials
        By key; ``steel`` must be there.
    name
        Names the set in the sources of uncertainty, so that two sets do not share their gauges.

    Raises
    ------
    InputError
        A word that is none of these, a gauge that is no string's, a core not thinner than its
        string.
    """
    wrap, rest = _material(text, materials)
    parsed = _tokens(rest, text)
    if not parsed:
        raise InputError("no string in this set", where=name, received=text, remedy=FORM)
    strings = []
    for number, one in enumerate(parsed, start=1):
        source = f"{name}, string {number}"
        if isinstance(one, tuple):
            strings.append(_weighed(one, source))
        else:
            try:
                strings.append(_built(one, wrap, materials["steel"], source))
            except InputError as error:
                raise error.at(source) from None
    return StringSet(text, tuple(strings))


def read_action(text: str) -> tuple[float, float]:
    """Read an action written treble/bass in mm.

    Raises
    ------
    InputError
        Another form.
    """
    try:
        treble, bass = (float(one) for one in text.split("/"))
    except ValueError:
        raise InputError(
            "not an action", where="--action", received=text, remedy="Write treble/bass: 1.6/2.0."
        ) from None
    return treble, bass


def _material(text: str, materials: Mapping[str, WireMaterial]) -> tuple[WireMaterial, str]:
    lowered = text.strip().lower()
    for words in sorted(_MATERIALS, key=len, reverse=True):
        if lowered.startswith(words):
            return materials[_MATERIALS[words]], lowered[len(words) :]
    return materials["steel"], lowered


def _tokens(text: str, whole: str) -> list[_Gauge | tuple[float, ...]]:
    found: list[_Gauge | tuple[float, ...]] = []
    unnamed = 0  # index of the first gauge whose kind is still to come
    cores: list[int] = []
    joined = re.sub(r"(?<=\d)\s+(?=mm\b)|(?<=[\dm])\s+(?=[pwf]\b)", "", text)
    for word in re.sub("[,;]", " ", joined).split():
        if word == "on":
            cores = [i for i in range(len(found)) if _is_wound(found[i], unnamed, i)]
            cores = [i for i in cores if _core_of(found[i]) is None]
        elif word in _KINDS:
            for index in range(unnamed, len(found)):
                one = found[index]
                if isinstance(one, _Gauge) and one.kind is None:
                    found[index] = replace(one, kind=_KINDS[word])
            unnamed = len(found)
        elif match := _WEIGHED.fullmatch(word):
            found.append(_off_cut(match))
        elif (plain := _STRING.fullmatch(word)) is not None:
            if cores:
                index = cores.pop(0)
                one = found[index]
                assert isinstance(one, _Gauge)
                found[index] = replace(one, core_mm=_mm(plain[1], whole))
                continue
            core = _mm(plain[3], whole) if plain[3] else None
            found.append(_Gauge(plain[1], _mm(plain[1], whole), plain[2], core))
        elif word not in _FILLERS:
            raise InputError("not part of a set of strings", received=word, remedy=FORM)
    return found


def _is_wound(one: _Gauge | tuple[float, ...], unnamed: int, index: int) -> bool:
    return isinstance(one, _Gauge) and (one.kind in ("w", "f") or index >= unnamed)


def _core_of(one: _Gauge | tuple[float, ...]) -> float | None:
    return one.core_mm if isinstance(one, _Gauge) else 0.0


def _mm(written: str, whole: str) -> float:
    """A gauge in mm: with its unit, as inches below 0.2, as thousandths from 6 on."""
    if written.endswith("mm"):
        size = float(written[:-2])
    else:
        number = float(written)
        inches = number if number < 0.2 else number / 1000.0
        if not (written.startswith((".", "0.")) or number >= 6.0):
            inches = 0.0
        size = inches * MM_PER_INCH
    if not 0.1 <= size <= 4.0:
        raise InputError(
            "not the gauge of a string",
            where=whole,
            received=written,
            remedy="Give inches as .009, thousandths as 9, or millimetres as 0.23mm.",
        )
    return size


def _off_cut(match: re.Match[str]) -> tuple[float, ...]:
    mass, mass_doubt, length, length_doubt = match.groups()
    return (
        float(mass),
        float(mass_doubt) if mass_doubt else SCALE_DOUBT_G,
        float(length),
        float(length_doubt) if length_doubt else RULE_DOUBT_MM,
    )


def _weighed(cut: tuple[float, ...], source: str) -> StringSpec:
    mass = weighed_off_cut(
        Estimate.of(cut[0], cut[1], f"{source}: mass of the off-cut"),
        Estimate.of(cut[2], cut[3], f"{source}: length of the off-cut"),
    )
    return StringSpec(f"{1e3 * mass.value:.3f} g/m, weighed", mass, None, None, None)


def _built(one: _Gauge, wrap: WireMaterial, steel: WireMaterial, source: str) -> StringSpec:
    diameter = Estimate.of(one.mm, LABEL_DOUBT_MM, f"{source}: gauge")
    inches = f"{one.mm / MM_PER_INCH:.4f}".lstrip("0").rstrip("0")
    shown = one.written if one.written.endswith("mm") else inches.ljust(4, "0")
    assumed: list[tuple[str, str]] = []
    kind = one.kind
    if kind is None:
        kind = "w" if one.mm > WOUND_ABOVE_IN * MM_PER_INCH else "p"
        word = "wound" if kind == "w" else "plain"
        assumed.append((f"Taken as {word} by gauge", shown))
    if kind == "p":
        mass = mass_per_metre(Construction(diameter, steel), source)
        label = f"{shown} plain"
        return StringSpec(label, mass, one.mm, one.mm, steel.modulus_pa, tuple(assumed))
    flat = kind == "f"
    label = f"{shown} flat-wound" if flat else f"{shown} wound"
    core_mm = one.core_mm
    if core_mm is None:
        core_mm, doubt = assumed_core_mm(one.mm), CORE_DOUBT_MM
        core_in = f"{core_mm / MM_PER_INCH:.4f}".lstrip("0")
        assumed.append(("Cores assumed (in)", f"{shown} on {core_in}"))
    else:
        doubt = LABEL_DOUBT_MM
    if core_mm >= one.mm:
        raise InputError(
            "a core is thinner than its string",
            received=f"{core_mm:.3f} mm in {one.mm:.3f} mm",
            remedy="Give the core behind the letter: .024w.013.",
        )
    inner = Estimate.of(core_mm, doubt, f"{source}: core")
    mass = mass_per_metre(wound(diameter, inner, steel, wrap, flat=flat), source)
    return StringSpec(label, mass, one.mm, core_mm, steel.modulus_pa, tuple(assumed))
