"""Visible and UV-A photographs of one face, compared: where the glow of the coat differs.

Arrays in, typed results out; OpenCV works on as many threads as the caller allows
(``cv2.setNumThreads``). Start at ``assess`` (``assessing.py``); ``outline.propose`` gives masks to
correct by hand, ``exposure`` the time that eyes may be near the lamp.
"""

from heelstamp.luminescence.assessing import assess
from heelstamp.luminescence.findings import Assessment, Doubt, Kind, Masks, Reason, Region, Stage
from heelstamp.luminescence.likelihoods import EVEN, later_share, place_ratios
from heelstamp.luminescence.outline import propose
from heelstamp.luminescence.stray_light import GreyStandard

__all__ = [
    "EVEN",
    "Assessment",
    "Doubt",
    "GreyStandard",
    "Kind",
    "Masks",
    "Reason",
    "Region",
    "Stage",
    "assess",
    "later_share",
    "place_ratios",
    "propose",
]
