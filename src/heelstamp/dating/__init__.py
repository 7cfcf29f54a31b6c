"""Exact dating: completion month and state of each part, from everything seen on an instrument.

A library of its own: arrays and plain values in, typed results out; it needs NumPy only.

>>> from heelstamp.dating import infer
"""

from heelstamp.dating.bundle import Expected, Look, Measure, expected_after, products_of
from heelstamp.dating.checks import (
    SURPRISING,
    LeftOut,
    leave_one_out,
    leave_out,
    reading_posteriors,
    surprises,
)
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Document,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Mark,
    MixedSet,
    MonthLikelihood,
    Observation,
    Reading,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)
from heelstamp.dating.finish_places import each_place, touched_places, touched_weight
from heelstamp.dating.front import pareto_front
from heelstamp.dating.identity import Identity, judge_identity
from heelstamp.dating.inspection import Gain, Inspection, expected_gains
from heelstamp.dating.model import (
    Assembly,
    Batch,
    DatingModel,
    Feature,
    Level,
    ModelError,
    Opening,
    Part,
    PartSet,
    Screws,
    SerialScheme,
    Sign,
    Timing,
    Transition,
)
from heelstamp.dating.moments import additive_moments
from heelstamp.dating.openings import JOINTS, joint_sign
from heelstamp.dating.outcomes import (
    cells_around,
    feature_outcomes,
    mark_outcomes,
    screw_outcomes,
    serial_outcomes,
    sign_outcomes,
)
from heelstamp.dating.posterior import Posterior, infer, infer_many, log_evidence_many
from heelstamp.dating.summary import Mode, central_interval, entropy_bits, median, modes

__all__ = [
    "JOINTS",
    "SURPRISING",
    "Assembly",
    "Batch",
    "CompiledModel",
    "DatingModel",
    "Document",
    "Evidence",
    "EvidenceError",
    "Expected",
    "Feature",
    "FeatureSeen",
    "Gain",
    "Identity",
    "Inspection",
    "LeftOut",
    "Level",
    "Look",
    "Mark",
    "Measure",
    "MixedSet",
    "Mode",
    "ModelError",
    "MonthLikelihood",
    "Observation",
    "Opening",
    "Part",
    "PartSet",
    "Posterior",
    "Reading",
    "Screws",
    "ScrewsSeen",
    "SerialNumber",
    "SerialScheme",
    "Sign",
    "SignSeen",
    "StateLikelihood",
    "Timing",
    "Transition",
    "additive_moments",
    "cells_around",
    "central_interval",
    "each_place",
    "entropy_bits",
    "expected_after",
    "expected_gains",
    "feature_outcomes",
    "infer",
    "infer_many",
    "joint_sign",
    "judge_identity",
    "leave_one_out",
    "leave_out",
    "log_evidence_many",
    "mark_outcomes",
    "median",
    "modes",
    "pareto_front",
    "products_of",
    "reading_posteriors",
    "screw_outcomes",
    "serial_outcomes",
    "sign_outcomes",
    "surprises",
    "touched_places",
    "touched_weight",
]
