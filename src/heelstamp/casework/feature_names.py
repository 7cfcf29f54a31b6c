"""What to call things: parts, features, variants and signs, in words a reader knows.

Names come from the parts tree and from the chronology, which the caller hands in as plain text;
what has no name there is called by its id with spaces for underscores, so that a report never
fails for want of a word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heelstamp.catalogue import Observation, PartsTree


@dataclass(frozen=True, slots=True)
class FeatureNames:
    """Words of a chronology.

    Attributes
    ----------
    names
        Name of each feature and sign by id.
    variants
        Words for a variant or outcome, by the variant or outcome.
    covered_area_signs
        Ids of the signs that tell of the finish where something covers it (rule 6).
    """

    names: Mapping[str, str] = field(default_factory=dict)
    variants: Mapping[str, str] = field(default_factory=dict)
    covered_area_signs: frozenset[str] = frozenset()

    def name(self, id_: str) -> str:
        """The name of a feature or sign."""
        return self.names.get(id_, id_.replace("_", " "))

    def variant(self, variant: str) -> str:
        """The words for a variant of a feature or an outcome of a sign."""
        return self.variants.get(variant, variant.replace("_", " "))


def part_label(tree: PartsTree, key: str) -> str:
    """The name of a part, in the middle of a sentence."""
    return tree[key].label if key in tree else key.replace("_", " ")


_READER_WORDS = {
    "guard": "pickguard",
    "board": "fingerboard",
    "head": "headstock",
    "socket": "output jack",
    "rod": "truss rod",
    "coat": "finish",
}
_READER_PHRASES = {"not looked": "not looked at", "missed": "found missing"}


def reader_words(key: str) -> str:
    """Write a key of an entry (an act, a part, a slot, a status) in words a reader knows.

    Examples
    --------
    >>> reader_words("refit guard"), reader_words("head-front"), reader_words("truss rod")
    ('refit pickguard', 'headstock, front', 'truss rod')
    """
    if key in _READER_PHRASES:
        return _READER_PHRASES[key]
    words = key.replace("_", " ").replace("-", ", ").split(" ")
    told = []
    for before, word in zip(["", *words], words, strict=False):
        bare = word.rstrip(",")
        known = _READER_WORDS.get(bare, bare)
        known = bare if bare == "rod" and before == "truss" else known
        told.append(known + word[len(bare) :])
    return " ".join(told)


def heading(label: str) -> str:
    """A label as it begins a sentence or a cell."""
    return label[:1].upper() + label[1:]


def observation_name(seen: Observation, tree: PartsTree, names: FeatureNames) -> str:
    """Name an observation in a sentence: 'the mark “65/03 R” on the neck'."""
    part = part_label(tree, seen.part)
    if seen.kind == "mark":
        return f"the mark {quoted(seen)} on the {part}"
    if seen.kind == "serial":
        return f"the serial number {quoted(seen)}"
    if seen.kind == "document":
        return f"the document on the {part}"
    subject = names.name(seen.subject)
    told = names.variant(seen.variant or seen.outcome or "")
    joined = f"{subject}, {told}" if told else subject
    return f"the {part} ({joined})"


def observation_label(seen: Observation, tree: PartsTree, names: FeatureNames) -> str:
    """Name an observation in a few words, for a row: 'Neck “65/03 R”'."""
    part = heading(part_label(tree, seen.part))
    if seen.kind == "serial":
        return f"Serial {quoted(seen)}"
    if seen.kind == "mark":
        return f"{part} {quoted(seen)}"
    if seen.kind == "document":
        return f"{part}, document"
    return f"{part}, {names.name(seen.subject)}"


def found_words(seen: Observation) -> str:
    """What an observation found, for a row: text, variant, outcome, or what else was entered."""
    if not seen.is_read:
        return seen.status
    plain = seen.text or seen.variant or seen.outcome
    if plain:
        return plain
    read = [
        f"{one.text or one.months} ({one.weight:.0%})".replace("%", " %") for one in seen.readings
    ]
    if read:
        return " or ".join(read)
    chances = [f"{name.replace('_', ' ')} {p:g}" for name, p in seen.likelihoods.items()]
    if chances:
        return "chance of this look: " + ", ".join(chances)
    ends = [("from", seen.not_before), ("to", seen.not_after)]
    return " ".join(f"{word} {month}" for word, month in ends if month) or "read"


def quoted(seen: Observation) -> str:
    """The text of a mark or serial in quotation marks, or its readings."""
    if seen.text:
        return f"“{seen.text}”"
    texts = [reading.text for reading in seen.readings if reading.text]
    if texts:
        return " or ".join(f"“{text}”" for text in texts)
    return "(read by its months)" if seen.readings else ""
