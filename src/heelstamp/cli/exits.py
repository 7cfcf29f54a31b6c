"""Exit codes, and how errors become them: the one place where the two meet."""

from __future__ import annotations

from enum import IntEnum

from heelstamp.errors import HeelstampError, IntegrityError


class Exit(IntEnum):
    """What a command came to.

    0 done; 1 done, with findings against; 2 misuse, bad input or a machine that refused; 3 the
    evidence does not decide.
    """

    DONE = 0
    FINDINGS = 1
    MISUSE = 2
    UNDECIDED = 3


def exit_for(error: HeelstampError) -> Exit:
    """The exit code of an error: something kept was changed, or something given is wrong."""
    return Exit.FINDINGS if isinstance(error, IntegrityError) else Exit.MISUSE
