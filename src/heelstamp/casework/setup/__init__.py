"""Setting up: strings, relief, action, rod, intonation, from found through plan to final."""

from heelstamp.casework.setup.practice import Bench, Usual

__all__ = ["Bench", "Usual"]
