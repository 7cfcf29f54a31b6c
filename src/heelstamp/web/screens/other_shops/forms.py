"""Forms of what is learned together with other shops."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field

from heelstamp.casework.federation.summary import Gathered
from heelstamp.shop.known_shops import NAME_MAX
from heelstamp.web.forms import Sent, Word

MOST_FILES = 60
Files = Annotated[list[UploadFile], Field(min_length=1, max_length=MOST_FILES)]
Key = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
SumName = Annotated[str, Field(max_length=60)]


class Known(Sent):
    """The key of another shop, and what it is called here."""

    key: Annotated[str, Field(max_length=200)]
    called: Annotated[str, Field(max_length=2 * NAME_MAX)]


class Forgotten(Sent):
    """The key that is no longer known."""

    key: Key


class Taken(Sent):
    """Files of other shops."""

    files: Files


class Given(Sent):
    """How instruments came into the census."""

    gathered: Gathered


class Joined(Sent):
    """Name of the new edition, and shops that are left out."""

    edition: Word = ""
    without: Annotated[list[Key], Field(max_length=500, default_factory=list)]


class Entered(Sent):
    """Name of a sum."""

    sum: SumName


class Summed(Sent):
    """Name of a sum, and files of its shops."""

    sum: SumName
    files: Files


class Masked(Summed):
    """The same, and how many shops the sum has."""

    shops: Annotated[int, Field(ge=2, le=1000)]
