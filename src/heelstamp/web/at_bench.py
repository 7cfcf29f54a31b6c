"""One dossier on the bench: what every screen does with it, in one place.

An answer to a form is always the page it belongs to: a browser without scripts follows to it, the
page's own script takes from it the regions that changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any
from urllib.parse import quote, urlencode

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.subjects import Subject
from heelstamp.units import LengthUnit
from heelstamp.web.paths import screen_path
from heelstamp.web.rendering import hand_of, lengths_of, page, shop_of


@dataclass(frozen=True, slots=True)
class Bench:
    """A request about one dossier: the shop it lies in, and the hand that signs."""

    request: Request
    tag: str

    @property
    def shop(self) -> OpenShop:
        """The shop."""
        return shop_of(self.request)

    @property
    def subject(self) -> Subject:
        """What stands of the dossier now.

        Raises
        ------
        InputError
            There is no such dossier.
        """
        return self.shop.subject(self.tag)

    @property
    def state(self) -> DossierState:
        """The dossier's entries, folded."""
        return self.subject.state

    @property
    def tree(self) -> PartsTree:
        """The parts of its kind of instrument."""
        return self.subject.tree

    @property
    def hand(self) -> str:
        """The role that signs."""
        return hand_of(self.request)

    @property
    def lengths(self) -> LengthUnit:
        """The unit of lengths on this device."""
        return lengths_of(self.request)

    def enter(self, entries: Sequence[NewEntry]) -> None:
        """Enter, signed by the hand.

        Raises
        ------
        HeelstampError
            As `OpenShop.enter` does.
        """
        self.shop.enter(self.tag, entries, by=self.hand)

    def page(self, template: str, screen: str, **told: Any) -> HTMLResponse:
        """Fill a template of a screen of this dossier."""
        return page(
            self.request, template, tag=self.tag, screen=screen, subject=self.subject, **told
        )

    def back(self, screen: str, **asked: str) -> RedirectResponse:
        """Send the browser to a screen of this dossier."""
        told = {key: one for key, one in asked.items() if one}
        path = screen_path(quote(self.tag), screen)
        return RedirectResponse(path + (f"?{urlencode(told)}" if told else ""), 303)


async def _at_bench(request: Request, tag: str) -> Bench:
    return Bench(request, tag)


AtBench = Annotated[Bench, Depends(_at_bench)]
"""What a route of a dossier asks for."""
