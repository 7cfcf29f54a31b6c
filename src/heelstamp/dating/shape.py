"""What follows of a model from its openings, sets and lots alone, whatever months and states say.

Trying an answer under changed tables, and comparing it with a rival, makes many models of which
most differ in lags, errors, states or the prior only: their assemblies and contexts are the same,
and are worked out once.
"""

from __future__ import annotations

from threading import Lock

from heelstamp.dating.context_builder import ContextBuilder
from heelstamp.dating.contexts import Columns, Contexts, Pattern
from heelstamp.dating.model import DatingModel, Part
from heelstamp.dating.structure import structure

MOST = 64
"""Shapes kept: each changed table of `sensitivity`, and the rival of each."""


class Shape:
    """The shape of one model.

    Attributes
    ----------
    whole
        The model cut into assemblies.
    columns
        Where each marginal stands in a posterior.
    """

    def __init__(self, model: DatingModel) -> None:
        self._model = model
        self.whole = structure(model)
        self.columns = Columns.of(model)
        self._contexts: dict[tuple[int, Pattern], Contexts] = {}

    def contexts(self, cut: int, pattern: Pattern) -> Contexts:
        """The contexts of the assembly at *cut* for what was looked at."""
        key = (cut, pattern)
        if key not in self._contexts:
            self._contexts[key] = ContextBuilder(
                self._model, self.whole, self.whole.cuts[cut], self.columns, pattern
            ).build()
        return self._contexts[key]


class Shapes:
    """Shapes of models that were made from one another, those used last kept.

    Models are told apart by what their shape hangs on, which has no hash. Safe for several threads:
    two that ask at once for the same may both make it.
    """

    def __init__(self) -> None:
        self._kept: list[tuple[tuple[object, ...], Shape]] = []
        self._lock = Lock()

    def of(self, model: DatingModel) -> Shape:
        """The shape of *model*, or that of one that differs in nothing it hangs on.

        Raises
        ------
        ModelError
            As `structure` does.
        """
        told = _hangs_on(model)
        with self._lock:
            for place, (other, shape) in enumerate(self._kept):
                if other == told:
                    self._kept.append(self._kept.pop(place))
                    return shape
        shape = Shape(model)
        with self._lock:
            self._kept.append((told, shape))
            del self._kept[:-MOST]
        return shape


def _paths(part: Part) -> object:
    """The ways to a part, and nothing of what its states are then."""
    return tuple(level.path for level in part.levels), part.disturbed is None


def _hangs_on(model: DatingModel) -> tuple[object, ...]:
    """Everything of a model that its shape hangs on."""
    return (
        model.every_opening,
        model.sets,
        model.assemblies,
        tuple((one.name, one.states, one.timing, _paths(one)) for one in model.parts),
        model.batches,
        len(model.history),
        model.careful,
        model.careful_default,
    )
