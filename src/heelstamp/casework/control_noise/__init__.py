"""Noise of a control: takes judged, compared, drawn and put into words."""

from heelstamp.casework.control_noise.finding import NoiseFinding, TakeFinding
from heelstamp.casework.control_noise.procedure import examine_noise

__all__ = ["NoiseFinding", "TakeFinding", "examine_noise"]
