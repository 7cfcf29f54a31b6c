"""Texts that every report carries: cautions at the point of use, and what its words mean.

The UV-A limit is that of the ICNIRP guideline, *Health Physics* 87(2):171-186 (2004): 10⁴ J/m² in
8 hours for the unprotected eye. The rest of the cautions is common practice of the trade, no
source. They warn; they instruct nobody in work that needs a licence.
"""

from __future__ import annotations

from heelstamp.casework.papers.document import Caution, ScaleRow
from heelstamp.wording.strength import PROBABLY, VERY_PROBABLY, percent

LOCAL = "Local codes and licensed practice apply."

CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "Solder and wiring",
        "Old solder holds lead. Do not open joints to measure; wash hands after touching them, and "
        f"work under extraction. {LOCAL}",
    ),
    Caution(
        "UV-A lamp",
        "Eyes and skin: the limit of 10 000 J/m² in 8 hours is reached in 1000 s at 10 W/m². Wear "
        "UV goggles and keep the lamp away from faces.",
    ),
    Caution(
        "Strings and neck",
        "Strings under tension cut and whip. A change of gauge moves the neck for days; stop at "
        "the first hard resistance of the rod.",
    ),
    Caution(
        "Mains amplifiers",
        "An old amplifier can hold lethal charge and may lack an earth. Play this instrument "
        f"through an earthed, tested amplifier behind a residual-current device. {LOCAL}",
    ),
    Caution(
        "Plastics and lacquer",
        "Celluloid nitrate and nitrate lacquer burn fast, and ageing celluloid gives off acid "
        "vapour. Keep away from flame and heat; bag decaying pieces apart, ventilated.",
    ),
    Caution(
        "Protected species",
        "Board, inlay and fittings may be of protected species, which are named here by appearance "
        f"only. Ask before you ship or advertise abroad. {LOCAL} This is not legal advice.",
    ),
    Caution(
        "Value",
        "This paper is an examination, not an appraisal. An appraisal names its date, its purpose "
        f"and its sales. {LOCAL}",
    ),
)

NOT_SETTLED_ROW = ScaleRow(
    "not settled",
    "Said otherwise when one table of the model is changed within what a shop could have got "
    "wrong. It goes before probably and very probably.",
)

SCALE: tuple[ScaleRow, ...] = (
    ScaleRow(
        "slightly favours", "Evidence up to 10 times likelier under one account than another."
    ),
    ScaleRow("supports", "Over 10 and up to 100 times likelier."),
    ScaleRow("clearly supports", "Over 100 and up to 1000 times likelier."),
    ScaleRow(
        "strongly supports",
        "Over 1000 times likelier. No higher word is used: the figures of a workshop are not "
        "calibrated beyond that. These words state support, not probability.",
    ),
    ScaleRow(
        "probably",
        f"A posterior probability of at least {percent(PROBABLY)}, starting from the prior named "
        "beside it.",
    ),
    ScaleRow("very probably", f"A posterior probability of at least {percent(VERY_PROBABLY)}."),
    ScaleRow("not determined", "Anything less, for every account."),
    ScaleRow("original", "Fitted at first completion, as far as examined."),
    ScaleRow(
        "period-correct", "Right in type and time; whether it was fitted first is not determined."
    ),
    ScaleRow(
        "seen, measured, inferred, opinion",
        "Four kinds of statement, kept apart: a fact; a value with its uncertainty; hypotheses "
        "compared; a judgement.",
    ),
    ScaleRow(
        "± and %",
        "± is one standard uncertainty. A 90 % range holds the month in nine of ten such cases, if "
        "the chronology's assumptions hold.",
    ),
)
