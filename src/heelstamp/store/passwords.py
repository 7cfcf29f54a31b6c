"""What is kept of a password: Argon2id (RFC 9106), by the reference implementation.

Parameters are the RFC's second recommended option (section 4, for memory-constrained places): 3
passes over 64 MiB in 4 lanes, a salt of 128 bits, a tag of 256 bits. At most two passwords are
worked on at a time, which bounds the memory to 128 MiB whatever the network sends.
"""

from __future__ import annotations

from threading import BoundedSemaphore

from argon2 import PasswordHasher, Type
from argon2.exceptions import InvalidHashError, VerificationError

from heelstamp.errors import StorageError

PASSES, MEMORY_KIB, LANES = 3, 64 * 1024, 4
SALT_BYTES, TAG_BYTES = 16, 32
AT_A_TIME = 2
WAIT_S = 20.0


class Argon2Passwords:
    """Hashes passwords by Argon2id.

    Parameters
    ----------
    passes, memory_kib, lanes
        Work of one hash; the parameters above unless a test needs none of their strength.
    """

    def __init__(
        self, *, passes: int = PASSES, memory_kib: int = MEMORY_KIB, lanes: int = LANES
    ) -> None:
        self._hasher = PasswordHasher(
            time_cost=passes,
            memory_cost=memory_kib,
            parallelism=lanes,
            hash_len=TAG_BYTES,
            salt_len=SALT_BYTES,
            type=Type.ID,
        )
        self._turns = BoundedSemaphore(AT_A_TIME)
        self._nobodys = self._hasher.hash("the password of a name that nobody has")

    def hashed(self, password: str) -> str:
        """Write salt, parameters and hash of *password*."""
        self._take_turn()
        try:
            return self._hasher.hash(password)
        finally:
            self._turns.release()

    def fits(self, kept: str | None, password: str) -> bool:
        """Whether *password* is the one behind *kept*; None takes as long and is never true.

        Raises
        ------
        StorageError
            Too many passwords wait to be looked at.
        """
        self._take_turn()
        try:
            right = self._hasher.verify(self._nobodys if kept is None else kept, password)
        except (VerificationError, InvalidHashError):
            return False
        finally:
            self._turns.release()
        return right and kept is not None

    def _take_turn(self) -> None:
        if not self._turns.acquire(timeout=WAIT_S):
            raise StorageError("too many sign in at once", remedy="Wait a minute, then try again.")
