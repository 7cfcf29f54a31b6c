"""The setup sheet: found, planned, final, side by side, with what is not to be touched and why.

A sheet is refused while an act on a setup part lacks its evidence from before or after; the refusal
names each entry to make. Otherwise it gives the plan beside what was read, and says of each final
value whether it lies within the 90 % reach of plan and reading together. The digest is that of
everything the sheet depends on: the readings and treatments, the wishes, the program's version.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Literal

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.setup.acclimatisation import case_advice
from heelstamp.casework.setup.board import PLUCK, BoardFindings, board_findings
from heelstamp.casework.setup.contraindications import cautions, contraindications
from heelstamp.casework.setup.evidence import Missing, missing_evidence, rod_history
from heelstamp.casework.setup.plan import SIDES, Planning, SetupPlan, Wishes
from heelstamp.casework.setup.practice import Bench, Usual
from heelstamp.casework.setup.records import Reading, SetupRecord, read_record
from heelstamp.catalogue import DossierState, body_data
from heelstamp.mechanics import Estimate
from heelstamp.mechanics.condensation import SafeToOpen
from heelstamp.mechanics.estimate import Z_90

Verdict = Literal["issued", "refused"]


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One measure from found to final.

    Attributes
    ----------
    measure, unit
        What, and the unit of all values.
    found
        As it came.
    predicted
        Under the new set, before rod or saddles were touched.
    before_rod
        Read there.
    planned
        What the work aims at.
    final
        As it left.
    agrees
        Whether final and planned (else predicted) agree within 90 %; None without both.
    usual
        Range of common practice, None where there is none.
    """

    measure: str
    unit: str
    found: Estimate | None = None
    predicted: Estimate | None = None
    before_rod: Estimate | None = None
    planned: Estimate | None = None
    final: Estimate | None = None
    usual: Usual | None = None

    @property
    def agrees(self) -> bool | None:
        """Whether the final value is what was planned, as far as readings can tell."""
        aim = self.planned or self.predicted
        if aim is None or self.final is None:
            return None
        off = self.final - aim
        return abs(off.value) <= Z_90 * off.uncertainty or abs(off.value) < 1e-9

    @property
    def prediction_held(self) -> bool | None:
        """Whether the value read under the new strings lies where it was predicted, at 90 %."""
        if self.predicted is None or self.before_rod is None:
            return None
        off = self.before_rod - self.predicted
        return abs(off.value) <= Z_90 * off.uncertainty


@dataclass(frozen=True, slots=True)
class SetupSheet:
    """The sheet of one instrument; a refused one holds what is missing and nothing else."""

    name: str
    verdict: Verdict
    missing: tuple[Missing, ...]
    faults: tuple[str, ...]
    rows: tuple[SheetRow, ...]
    plan: SetupPlan
    board: BoardFindings
    case: SafeToOpen | None
    left_alone: tuple[str, ...]
    cautions: tuple[str, ...]
    digest: str

    @property
    def assumed(self) -> tuple[str, ...]:
        """What was assumed, each once."""
        return tuple(dict.fromkeys((*self.plan.assumed, *self.board.assumed)))

    @property
    def withheld(self) -> tuple[str, ...]:
        """What could not be computed, and why."""
        return (*self.plan.withheld, *self.board.withheld)

    @property
    def empty(self) -> bool:
        """Whether there is nothing to tell: neither a row nor a case."""
        return not self.rows and self.case is None


def setup_sheet(state: DossierState, bench: Bench, wishes: Wishes, *, name: str) -> SetupSheet:
    """Make the sheet.

    Parameters
    ----------
    state
        What stands in the dossier or the examination file.
    bench
        Materials of strings, and usual ranges for this kind of instrument.
    wishes
        Sets, tuning and targets that a person adds.
    name
        Tag or file.

    Raises
    ------
    InputError
        A set that cannot be read, or geometry that cannot be.
    """
    record = read_record(state)
    missing = missing_evidence(state, record)
    digest = _digest(state, wishes)
    if missing:
        nothing = SetupPlan(), BoardFindings(), None
        return SetupSheet(name, "refused", missing, (), (), *nothing, (), (), digest)
    plan = Planning(state, record, bench, wishes).plan()
    pluck = PLUCK if wishes.pluck_mm is None else replace(PLUCK, amplitude_mm=wishes.pluck_mm)
    board = board_findings(record, plan, pluck)
    return SetupSheet(
        name=name,
        verdict="issued",
        missing=(),
        faults=rod_history(state, record).faults,
        rows=_rows(record, plan, bench),
        plan=plan,
        board=board,
        case=case_advice(state, record),
        left_alone=contraindications(state, plan, board),
        cautions=cautions(plan),
        digest=digest,
    )


def _rows(record: SetupRecord, plan: SetupPlan, bench: Bench) -> tuple[SheetRow, ...]:
    rows = [
        SheetRow(
            "string tension, all",
            "N",
            found=plan.found.tension_n if plan.found else None,
            predicted=plan.new.tension_n if plan.new else None,
        ),
        SheetRow(
            "relief",
            "mm",
            found=_value(record, "relief", stage="found", role="read", down=0.0, new_strings=False),
            predicted=plan.relief_predicted,
            before_rod=_value(record, "relief", role="read", new_strings=True),
            planned=plan.relief_target,
            final=_value(record, "relief", stage="final", role="read"),
            usual=bench.usual.get("relief"),
        ),
        *(_action_row(record, plan, bench, side) for side in SIDES),
        *(
            SheetRow(
                f"saddle moved, {side}",
                "mm",
                planned=plan.saddles_mm.get(side),
                final=_value(record, "saddle", stage="final", side=side),
            )
            for side in SIDES
        ),
        SheetRow(
            "worst intonation",
            "cent",
            before_rod=_value(record, "worst intonation", stage="plan"),
            final=_value(record, "worst intonation", stage="final"),
            usual=bench.usual.get("intonation"),
        ),
        _weight_row(record, plan),
    ]
    return tuple(
        row
        for row in rows
        if any((row.found, row.predicted, row.before_rod, row.planned, row.final))
    )


def _action_row(record: SetupRecord, plan: SetupPlan, bench: Bench, side: str) -> SheetRow:
    return SheetRow(
        f"action at 12, {side}",
        "mm",
        found=_value(record, "action", stage="found", role="read", side=side),
        predicted=plan.action_predicted.get(side),
        before_rod=_value(record, "action", role="read", new_strings=True, side=side),
        planned=plan.action_target.get(side),
        final=_value(record, "action", stage="final", role="read", side=side),
        usual=bench.usual.get(f"action {side}"),
    )


def _weight_row(record: SetupRecord, plan: SetupPlan) -> SheetRow:
    found = _value(record, "weight", stage="found")
    predicted = found + plan.change.mass_g if found and plan.change else None
    final = _value(record, "weight", stage="final")
    return SheetRow("weight", "g", found=found, predicted=predicted, final=final)


def _value(record: SetupRecord, subject: str, **wanted: object) -> Estimate | None:
    read: Reading | None = record.last(subject, **wanted)
    return read.value if read else None


def _digest(state: DossierState, wishes: Wishes) -> str:
    return digest_of(
        {
            "program": __version__,
            "instrument": body_data(state.instrument),
            "measurements": [body_data(one) for one in state.measurements.values()],
            "treatments": [body_data(one) for one in state.treatments.values()],
            "wishes": asdict(wishes),
        }
    )
