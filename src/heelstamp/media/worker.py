"""The process in which files of strangers are decoded: one after another, each within limits.

It is a program of its own, ``python -c "from heelstamp.media.worker import main; main()"``, spoken
to through its standard input and output. A message is two lengths of 8 bytes, big-endian, then a
part in MessagePack and a part of plain bytes; no object is ever unpickled. The process ends when
its input does, and after a file that asked for too much memory, for what was left half done then is
not known. What a library prints goes nowhere.
"""

from __future__ import annotations

import os
import signal
import struct
from importlib import import_module
from typing import IO, Any

import msgspec

from heelstamp.errors import HeelstampError, InputError, LimitError
from heelstamp.media.confinement import confine, grant, peak_bytes

TASKS = {
    "read_photograph": "photographs",
    "camera_settings": "photographs",
    "outgoing_copy": "outgoing",
    "upright_rgb": "pixels",
    "measure_photograph": "photo_care",
    "read_recording": "sound",
    "read_sheet": "spreadsheets",
    "read_rows": "spreadsheets",
    "read_mail": "mail",
}
"""Functions that may be asked for, and their modules beside this one."""

_PICTURE = 2_000_000_000, 40
_TABLE = 700_000_000, 40
_LIMITS = {
    "read_recording": (1_000_000_000, 30),
    "read_sheet": _TABLE,
    "read_rows": _TABLE,
    "read_mail": (1_200_000_000, 30),
}
"""Bytes of memory beyond what the process holds, and seconds of the processor, for one file: four
copies of the largest picture; ten minutes of sound three times over; the largest table; the largest
mail eight times over."""

_HEAD = struct.Struct(">QQ")
_ERRORS: dict[str, type[HeelstampError]] = {one.__name__: one for one in (InputError, LimitError)}


class Request(msgspec.Struct, frozen=True):
    """What is to be done with the bytes that come with it."""

    task: str
    name: str
    options: dict[str, Any] = {}


class Refusal(msgspec.Struct, frozen=True):
    """An error, to be raised where the request came from."""

    kind: str
    what: str
    where: str
    received: str
    remedy: str

    def error(self) -> HeelstampError:
        """The error, of its class."""
        kind = _ERRORS.get(self.kind, InputError)
        received = self.received or None
        return kind(self.what, where=self.where, received=received, remedy=self.remedy)


class Answer(msgspec.Struct, frozen=True):
    """What came of a request.

    Attributes
    ----------
    value
        Plain fields of the result; its bytes come beside it.
    refusal
        Why there is none.
    peak
        Most memory that the process ever held, in bytes; 0: not known.
    last
        The process ends with this answer.
    """

    value: Any = None
    refusal: Refusal | None = None
    peak: int = 0
    last: bool = False


def send(pipe: IO[bytes], message: Request | Answer, content: bytes | memoryview = b"") -> None:
    """Write one message."""
    told, plain = msgspec.msgpack.encode(message), memoryview(content).cast("B")
    pipe.write(_HEAD.pack(len(told), len(plain)))
    pipe.write(told)
    pipe.write(plain)
    pipe.flush()


def receive(pipe: IO[bytes]) -> tuple[bytes, bytearray]:
    """Read one message.

    Raises
    ------
    EOFError
        The other side has gone.
    """
    told, plain = _HEAD.unpack(_exactly(pipe, _HEAD.size))
    return bytes(_exactly(pipe, told)), _exactly(pipe, plain)


def _exactly(pipe: IO[bytes], size: int) -> bytearray:
    kept = bytearray(size)
    view, at = memoryview(kept), 0
    while at < size:
        got = pipe.readinto(view[at:])  # type: ignore[attr-defined]
        if not got:
            raise EOFError
        at += got
    return kept


def main() -> None:
    """Answer requests until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a terminal sends it to both; the input decides
    requests, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
    confine()
    exhausted = False
    while not exhausted:
        try:
            told, content = receive(requests)
        except EOFError:
            return
        request = msgspec.msgpack.decode(told, type=Request)
        value: Any = None
        plain: bytes | memoryview = b""
        error: HeelstampError | None = None
        try:
            value, plain = _done(request, bytes(content))
        except MemoryError:
            exhausted = True
            error = LimitError(
                "the file takes more memory to read than one file is given",
                where=request.name,
                remedy="Make it smaller, or save it in another form.",
            )
        except HeelstampError as refusal:
            error = refusal
        except Exception as fault:  # noqa: BLE001 - a decoder raises what it likes
            error = InputError(
                "the file brought its reader to a fault of the program",
                where=request.name,
                received=f"{type(fault).__name__}: {fault}",
                remedy="Leave this file out, and report it with this line.",
            )
        refused = _refusal(error) if error is not None else None
        answer = Answer(value, refused, peak_bytes(), exhausted)
        send(answers, answer, plain)


def _done(request: Request, data: bytes) -> tuple[Any, bytes | memoryview]:
    grant(*_LIMITS.get(request.task, _PICTURE))
    module = import_module(f"heelstamp.media.{TASKS[request.task]}")
    found = getattr(module, request.task)(data, request.name, **request.options)
    if isinstance(found, bytes):
        return None, found
    if request.task == "upright_rgb":
        import numpy as np  # noqa: PLC0415 - not for small pictures

        return found.shape, np.ascontiguousarray(found).data
    if request.task == "read_recording":
        fields = (one for one in found.__slots__ if one != "samples")
        return {one: getattr(found, one) for one in fields}, found.samples.data
    return found, b""


def _refusal(error: HeelstampError) -> Refusal:
    return Refusal(type(error).__name__, error.what, error.where, error.received, error.remedy)
