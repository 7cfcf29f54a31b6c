"""The grammar of the scenario: a day at the bench that hands out entries in order of time.

An entry here is what a journal entry is before it is numbered and chained:
``{"at", "by", "kind", "body"}``, to which the builder adds its seed. Bodies follow the examination
contract; keys that would be empty by their nature (a sign's outcome on a mark, say) are left out.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from demo.frames import FRAMES
from demo.takes import TAKES

Entry = dict[str, Any]
Picture = dict[str, Any]
"""What the photograph builder knows of a made file: sha256, width, height, media_type."""

_BY_ID = {frame.id: frame for frame in FRAMES}
_TAKES = {take.id: take for take in TAKES}


class Day:
    """One day's entries; each comes some minutes after the one before.

    Parameters
    ----------
    date
        ``YYYY-MM-DD``.
    start
        Time of the first entry, ``HH:MM``; the shop's clock keeps UTC.
    pictures
        The made photographs by frame id.
    by
        Who writes, unless an entry says otherwise.
    """

    def __init__(
        self, date: str, start: str, pictures: dict[str, Picture], by: str = "examiner A"
    ) -> None:
        self.now = datetime.fromisoformat(f"{date}T{start}:00+00:00")
        self.by = by
        self.entries: list[Entry] = []
        self._pictures = pictures

    def at(self, clock: str) -> Day:
        """Move on to a time of the day; never back."""
        hour, minute = (int(piece) for piece in clock.split(":"))
        later = self.now.replace(hour=hour, minute=minute)
        if later < self.now:
            raise ValueError(f"the day is already at {self.now:%H:%M}, not {clock}")
        self.now = later
        return self

    def add(
        self, kind: str, /, *, writer: str | None = None, minutes: int = 1, **body: Any
    ) -> None:
        """Write one entry now, then let *minutes* pass."""
        self.entries.append({**self._entry(kind, body), "by": writer or self.by})
        self.now += timedelta(minutes=minutes)

    def _entry(self, kind: str, body: dict[str, Any]) -> Entry:
        return {"at": f"{self.now:%Y-%m-%dT%H:%M:%SZ}", "by": self.by, "kind": kind, "body": body}

    def shoot(self, *ids: str) -> None:
        """File frames a minute after each was taken."""
        for one in ids:
            frame = _BY_ID[one]
            taken = datetime.fromisoformat(frame.taken + "+00:00")
            self.now = max(self.now, taken + timedelta(minutes=1))
            made = self._pictures[one]
            self.add(
                "photograph",
                minutes=0,
                id=frame.id,
                file=made["sha256"],
                name=frame.name,
                media_type=made["media_type"],
                width=made["width"],
                height=made["height"],
                part=frame.part,
                slot=frame.slot,
                light=frame.light,
                private=frame.private,
                taken=frame.taken,
                simulated=True,
                note=frame.note,
            )

    def scale(self, frame: str, x: float, y: float, px_per_mm: float) -> None:
        """Enter the ends of the rule whose middle lies at shares *x*, *y* of a frame.

        Its length is the one that `demo.props.targets` lays down in a view of this scale.
        """
        made = self._pictures[frame]
        length = max(
            one for one in (1, 2, 5, 10, 20, 50) if one <= 0.18 * made["width"] / px_per_mm
        )
        half = length * px_per_mm / made["width"] / 2
        ends = {"x0": round(x - half, 4), "y0": y, "x1": round(x + half, 4), "y1": y}
        self.add(
            "picture_scale",
            minutes=0,
            id=f"scale-{frame}",
            frame=frame,
            **ends,
            length_mm=float(length),
            note="Both ends of the rule beside the subject.",
        )

    def see(  # noqa: PLR0917
        self,
        ident: str,
        part: str,
        kind: str,
        frames: str = "",
        note: str = "",
        status: str = "read",
        **rest: Any,
    ) -> None:
        """Write an observation; *frames* is a list of frame ids parted by blanks.

        What was noted of it may go to outsiders: it tells of the instrument and of nobody.
        """
        if note:
            rest = {"public": True, **rest}
        self.add(
            "observation",
            id=ident,
            part=part,
            kind=kind,
            status=status,
            **rest,
            frames=frames.split(),
            note=note,
        )

    def feature(self, name: str, part: str, variant: str, frames: str, note: str = "") -> None:
        """Write a feature that was seen; its id is the feature's own."""
        self.see(name, part, "feature", frames, note, feature=name, variant=variant)

    def sign(  # noqa: PLR0917
        self,
        ident: str,
        part: str,
        sign: str,
        outcome: str,
        frames: str,
        note: str = "",
        **counted: int,
    ) -> None:
        """Write a sign that was seen; *counted* says of how many screws."""
        self.see(ident, part, "sign", frames, note, sign=sign, outcome=outcome, **counted)

    def measure(  # noqa: PLR0917
        self,
        ident: str,
        quantity: str,
        part: str,
        value: float,
        unit: str,
        uncertainty: float,
        stage: str = "found",
        *,
        temperature: float | None = None,
        frames: str = "",
        note: str = "",
        **typed: Any,
    ) -> None:
        """Write a measured (or, at stage "plan", an intended or checked) value.

        *typed* holds what else is known of the reading: ``at``, ``down``, ``strings``, ``role``,
        ``jack``, ``heard``, ``tool``.
        """
        self.add(
            "measurement",
            id=ident,
            quantity=quantity,
            part=part,
            value=value,
            unit=unit,
            uncertainty=uncertainty,
            stage=stage,
            **typed,
            temperature=temperature,
            frames=frames.split(),
            note=note,
        )

    def record(self, *ids: str) -> None:
        """File recordings that were made just now."""
        for one in ids:
            take = _TAKES[one]
            self.add(
                "recording",
                id=take.id,
                file=self._pictures[one]["sha256"],
                name=take.name,
                media_type="audio/flac",
                sound="control",
                part="pot_tone",
                take=take.take,
                stage=take.stage,
                public=True,
                note="Simulated. Strings muted, one gain; mono, 44.1 kHz.",
            )

    def treat(  # noqa: PLR0917
        self,
        ident: str,
        act: str,
        part: str,
        material: str,
        amount: str,
        reason: str,
        minutes: int,
        before: str,
        after: str,
        *,
        reversible: bool = True,
        note: str = "",
        **typed: Any,
    ) -> None:
        """Write an act on the instrument, once the evidence from before and after it is in."""
        self.entries.append(
            self._entry(
                "treatment",
                {
                    "id": ident,
                    "act": act,
                    "part": part,
                    "material": material,
                    "amount": amount,
                    **typed,
                    "reason": reason,
                    "minutes": minutes,
                    "reversible": reversible,
                    "before": before.split(),
                    "after": after.split(),
                    "note": note,
                },
            )
        )
        self.now += timedelta(minutes=1)

    def consent(
        self, ident: str, act: str, note: str, *, granted: bool = True, condition: str = ""
    ) -> None:
        """Write what the consignor allows or refuses."""
        self.add(
            "consent",
            id=ident,
            act=act,
            granted=granted,
            by="a consignor",
            condition=condition,
            note=note,
        )

    def custody(  # noqa: PLR0917
        self,
        ident: str,
        event: str,
        giver: str,
        receiver: str,
        place: str,
        note: str,
        weight_g: float | None = None,
        weight_uncertainty_g: float | None = None,
    ) -> None:
        """Write who hands the instrument to whom, and its weight when it was weighed."""
        self.add(
            "custody",
            id=ident,
            event=event,
            giver=giver,
            receiver=receiver,
            place=place,
            weight_g=weight_g,
            weight_uncertainty_g=weight_uncertainty_g,
            note=note,
        )
