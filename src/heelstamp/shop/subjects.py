"""What a command or page is about: a dossier of the shop, or an examination file, with its maker.

What is computed from a subject with the bundled reference tables stands here too; an opened shop
remembers it for its dossiers.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.shop.files import read_file
from heelstamp.shop.settings import CHRONOLOGIES_FOLDER, PARTS_FOLDER, is_shop

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.doubts import DoubtFinding, SensitivityFinding
    from heelstamp.casework.feature_names import FeatureNames
    from heelstamp.casework.inspections import Plan
    from heelstamp.casework.inspections.plan import Money
    from heelstamp.casework.papers.said import Said
    from heelstamp.casework.ports import Shop
    from heelstamp.catalogue import DossierState, PartsTree
    from heelstamp.chronology import Chronology
    from heelstamp.dating import CompiledModel

ENDINGS = (".toml", ".json")


@dataclass(frozen=True)
class Subject:
    """An instrument to work on.

    Attributes
    ----------
    name
        Tag of the dossier, or name of the file.
    state, tree, chronology
        What stands of it, the parts of its kind, what is known of its maker.
    shop
        The shop it is in; None for a file.
    """

    name: str
    state: DossierState
    tree: PartsTree
    chronology: Chronology
    shop: Shop | None


def subject_from_file(path: Path, shop: Path) -> Subject:
    """Read an examination file, with parts and chronologies of the shop in *shop* if it is one."""
    from heelstamp.casework.examination import read_examination
    from heelstamp.documents import decode_text, format_of
    from heelstamp.reference.parts_trees import tree_loader

    form = format_of(path.name)
    text = decode_text(read_file(path), path.name)
    tree_for = tree_loader(shop / PARTS_FOLDER if is_shop(shop) else None)
    examination = read_examination(text, form, tree_for, name=path.name)
    instrument = examination.instrument
    return Subject(
        path.name,
        examination.state,
        tree_for(instrument.kind),
        chronology_for(instrument.chronology, shop, beside=path.parent),
        None,
    )


def chronology_for(name: str, shop: Path | None = None, beside: Path | None = None) -> Chronology:
    """Read a chronology by id, from the shop or the program, or by file name beside *beside*."""
    from heelstamp.reference.chronology_files import load_chronology, read_chronology_file

    if name.lower().endswith(ENDINGS):
        return read_chronology_file((beside or Path()) / name)
    own = shop / CHRONOLOGIES_FOLDER if shop is not None and is_shop(shop) else None
    return load_chronology(name, own)


def date_subject(subject: Subject, compiled: CompiledModel | None = None) -> DateFinding:
    """Date a subject with the bundled reference tables; *compiled* is its chronology's model."""
    from heelstamp.casework.dating import date_instrument
    from heelstamp.reference.tables import mark_context

    return date_instrument(subject.state, subject.chronology, mark_context(), compiled)


def sensitivity_of(
    subject: Subject, finding: DateFinding, compiled: CompiledModel | None = None
) -> SensitivityFinding:
    """Try every printed word under each changed table; *finding* is that of the subject."""
    from heelstamp.casework.doubts import examine_sensitivity
    from heelstamp.reference.tables import mark_context

    return examine_sensitivity(
        subject.state,
        subject.tree,
        subject.chronology,
        mark_context(),
        finding=finding,
        names=names_of(subject.chronology),
        compiled=compiled,
    )


def said_of(subject: Subject, finding: DateFinding, varied: SensitivityFinding) -> Said:
    """Say what a finding comes down to, in the words that every face prints."""
    from heelstamp.casework.papers.said import what_is_said

    names = names_of(subject.chronology)
    return what_is_said(subject.state, subject.tree, names, finding.data(), varied.data())


def doubts_of(
    subject: Subject,
    finding: DateFinding,
    varied: SensitivityFinding | None = None,
    compiled: CompiledModel | None = None,
) -> DoubtFinding:
    """Examine what does not fit and what the answer hangs on.

    *finding* is that of the subject, and so is *varied* where it is at hand; *compiled* is its
    chronology's model.
    """
    from heelstamp.casework.doubts import examine_doubts
    from heelstamp.reference.tables import mark_context
    from heelstamp.reference.wear import load_wear_table

    return examine_doubts(
        subject.state,
        subject.tree,
        subject.chronology,
        mark_context(),
        finding=finding,
        wear=load_wear_table(),
        names=names_of(subject.chronology),
        sensitivity=varied,
        compiled=compiled,
    )


def plan_of(subject: Subject, value: Money | None = None) -> Plan:
    """Plan the next inspection; the same record gives the same plan.

    Parameters
    ----------
    value
        Money to weigh; see `heelstamp.shop.prices.money_gain`.
    """
    from heelstamp.casework.inspections import plan_inspections
    from heelstamp.reference.stop_rules import load_stop_table
    from heelstamp.reference.tables import mark_context

    return plan_inspections(
        subject.state,
        subject.tree,
        subject.chronology,
        mark_context(),
        table=load_stop_table(),
        value=value,
    )


def names_of(chronology: Chronology) -> FeatureNames:
    """Return the chronology's names of features and signs, and those of alterations, for papers."""
    from heelstamp.casework.feature_names import FeatureNames
    from heelstamp.reference.market import load_market

    alterations = load_market().sign
    names = {row.sign: row.label for row in alterations}
    names |= {row.id: row.name for row in chronology.features}
    names |= {other: row.name for row in chronology.features for other in row.also}
    names |= {row.id: row.name for row in chronology.signs}
    covered = frozenset(row.id for row in chronology.signs if row.covered_area)
    return FeatureNames(
        names={**names, **chronology.words},
        variants={**{row.outcome: row.words for row in alterations}, **chronology.words},
        covered_area_signs=covered,
    )
