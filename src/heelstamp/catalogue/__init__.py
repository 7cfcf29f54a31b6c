"""What is recorded of an instrument: parts, entries, the journal's fold, custody, consent."""

from heelstamp.catalogue.bodies.appraisal import (
    CaseIncluded,
    ChangedParts,
    Colour,
    Grade,
    MaterialAnswer,
    MaterialsLooked,
    NearNumber,
    Price,
    TermsAgreed,
    TitleNote,
    TitleSearch,
)
from heelstamp.catalogue.bodies.condition import Condition, FaceLooked
from heelstamp.catalogue.bodies.intake import Consent, Contents, Custody, Instrument, Statement
from heelstamp.catalogue.bodies.measurement import AtJack, Heard, Measurement, PanelShot, Place
from heelstamp.catalogue.bodies.media import Photograph, PictureBox, PictureScale, Recording
from heelstamp.catalogue.bodies.observation import STATUSES, Observation, Reading
from heelstamp.catalogue.bodies.report import (
    Decision,
    Issue,
    LaterKnown,
    Question,
    ReturnVerdict,
    Unconverted,
    WordingChoice,
)
from heelstamp.catalogue.bodies.sale import OwnerOf, SaleStep
from heelstamp.catalogue.bodies.uv_lamp import PairMarks, RegionBorder, RegionVerdict
from heelstamp.catalogue.bodies.work import Exposure, Screw, StringSet, Treatment
from heelstamp.catalogue.consent import Leave, leave_for, require_leave
from heelstamp.catalogue.corrections import Version
from heelstamp.catalogue.entries import (
    INSTRUMENT_ID,
    KINDS,
    Body,
    Correction,
    body_data,
    body_id,
    kind_of,
    parse_body,
    parse_time,
)
from heelstamp.catalogue.journal import Entry, envelope, parse_entry
from heelstamp.catalogue.labels import amount_words, ordinal, quantity_words, sound_words
from heelstamp.catalogue.parts import Opening, Part, PartsTree, parse_parts_tree
from heelstamp.catalogue.state import Dangling, DossierState, Entered, Folding, fold, place_of

__all__ = [
    "INSTRUMENT_ID",
    "KINDS",
    "STATUSES",
    "AtJack",
    "Body",
    "CaseIncluded",
    "ChangedParts",
    "Colour",
    "Condition",
    "Consent",
    "Contents",
    "Correction",
    "Custody",
    "Dangling",
    "Decision",
    "DossierState",
    "Entered",
    "Entry",
    "Exposure",
    "FaceLooked",
    "Folding",
    "Grade",
    "Heard",
    "Instrument",
    "Issue",
    "LaterKnown",
    "Leave",
    "MaterialAnswer",
    "MaterialsLooked",
    "Measurement",
    "NearNumber",
    "Observation",
    "Opening",
    "OwnerOf",
    "PairMarks",
    "PanelShot",
    "Part",
    "PartsTree",
    "Photograph",
    "PictureBox",
    "PictureScale",
    "Place",
    "Price",
    "Question",
    "Reading",
    "Recording",
    "RegionBorder",
    "RegionVerdict",
    "ReturnVerdict",
    "SaleStep",
    "Screw",
    "Statement",
    "StringSet",
    "TermsAgreed",
    "TitleNote",
    "TitleSearch",
    "Treatment",
    "Unconverted",
    "Version",
    "WordingChoice",
    "amount_words",
    "body_data",
    "body_id",
    "envelope",
    "fold",
    "kind_of",
    "leave_for",
    "ordinal",
    "parse_body",
    "parse_entry",
    "parse_parts_tree",
    "parse_time",
    "place_of",
    "quantity_words",
    "require_leave",
    "sound_words",
]
