"""Photographs, recordings and workbooks read in a process of their own.

The functions here are those of `heelstamp.media` by the same names, with the same arguments and
refusals; besides, a file that takes too much memory or time, or brings the reader down, is a clear
refusal and nothing else. One file is read at a time, however many ask, in all processes of a user,
so that two large ones do not meet in memory. The process starts with the first file and serves all
that follow; one that died is replaced. Importing this module loads no library of pictures, sound or
tables.
"""

from __future__ import annotations

import atexit
import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from threading import Timer
from typing import TYPE_CHECKING, Any, Literal

import msgspec

from heelstamp.casework.photo_care import PhotoMeasures
from heelstamp.casework.ports import PhotographFacts
from heelstamp.casework.spreadsheet.sheet import Sheet
from heelstamp.errors import ConflictError, HeelstampError, LimitError, StorageError
from heelstamp.media.turns import Turns, turns_of_user
from heelstamp.media.worker import Answer, Request, receive, send

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from heelstamp.acoustics.recording import Recording
    from heelstamp.media.mail import Mail

PATIENCE_S = 120.0
"""Seconds of the clock for one file, and to wait for the files before it."""
_MOMENT_S = 1.0
_PROGRAM = "from heelstamp.media.worker import main; main()"
_KEPT = ("PATH", "LANG", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "SYSTEMROOT", "TZ")
_ONE_THREAD = {
    "OPENBLAS_NUM_THREADS": "1",  # decoding multiplies nothing; each thread would cost memory
    "OMP_NUM_THREADS": "1",
    "MALLOC_ARENA_MAX": "2",
}
_TOO_LONG = "the file takes longer to read than one file is given"
_REMEDY = "Make it smaller, or save it in another form."


class Decoder:
    """A process that decodes, started when it is first needed.

    Parameters
    ----------
    patience_s
        Seconds of the clock for one file, and to wait for the files before it.
    turns
        Whose turn it is; within this process alone without it.

    Attributes
    ----------
    peak
        Most memory that the process held up to its last answer, in bytes; 0: not known.
    """

    def __init__(self, patience_s: float = PATIENCE_S, turns: Turns | None = None) -> None:
        self.peak = 0
        self._patience_s = patience_s
        self._turns = turns or Turns()
        self._process: subprocess.Popen[bytes] | None = None
        self._owner = 0

    def run(
        self, task: str, data: bytes, name: str, options: dict[str, Any] | None = None
    ) -> tuple[Any, bytearray]:
        """Have one of `worker.TASKS` done, and give plain fields and bytes of its result.

        Raises
        ------
        InputError
            As the task itself raises.
        LimitError
            The file took too much memory or time, or the process died of it.
        ConflictError
            Other files were being read for too long.
        StorageError
            The process cannot be started.
        """
        with self._waited_for(name):
            process = self._running()
            late = False

            def end() -> None:
                nonlocal late
                late = True
                process.kill()

            clock = Timer(self._patience_s, end)
            clock.daemon = True
            clock.start()
            try:
                assert process.stdin is not None
                assert process.stdout is not None
                send(process.stdin, Request(task, name, options or {}), data)
                told, content = receive(process.stdout)
                answer = msgspec.msgpack.decode(told, type=Answer)
                if answer.last:
                    self._end()
            except (OSError, EOFError, msgspec.DecodeError):
                self._end(how_it_died=True)
                raise _death(process.returncode, name, late=late) from None
            except BaseException:  # interrupted half-way: what comes next would be another's answer
                self._end()
                raise
            finally:
                clock.cancel()
        self.peak = answer.peak
        if answer.refusal is not None:
            raise answer.refusal.error()
        return answer.value, content

    def close(self) -> None:
        """End the process; the next file starts another."""
        with self._turns.waited_for(self._patience_s):
            self._end()

    @contextmanager
    def _waited_for(self, name: str) -> Iterator[None]:
        with ExitStack() as turn:
            try:
                turn.enter_context(self._turns.waited_for(self._patience_s))
            except TimeoutError:
                raise ConflictError(
                    "other files are being read",
                    where=name,
                    received=f"{self._patience_s:.0f} s waited",
                    remedy="Repeat it when they are done.",
                ) from None
            yield

    def _running(self) -> subprocess.Popen[bytes]:
        if self._owner != os.getpid():  # a copy made by fork: its parent's process is not its own
            self._process = None
        if self._process is not None and self._process.poll() is not None:
            self._end()
        if self._process is None:
            kept = {one: os.environ[one] for one in _KEPT if one in os.environ}
            path = os.pathsep.join(one for one in sys.path if one)
            try:
                self._process = subprocess.Popen(  # noqa: S603 - this very program
                    [sys.executable, "-P", "-B", "-c", _PROGRAM],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env={**kept, **_ONE_THREAD, "PYTHONPATH": path},
                )
            except OSError as error:
                raise StorageError(
                    "the process that reads files cannot be started",
                    received=error.strerror,
                    remedy="Close other programs, then repeat.",
                ) from error
            self._owner = os.getpid()
            atexit.unregister(self._end)
            atexit.register(self._end)
        return self._process

    def _end(self, *, how_it_died: bool = False) -> None:
        process, self._process = self._process, None
        if process is None or self._owner != os.getpid():
            return
        if how_it_died:  # its pipe breaks a moment before the system tells
            with suppress(subprocess.TimeoutExpired):
                process.wait(_MOMENT_S)
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):  # what was not sent is let go
                    pipe.close()


def _death(code: int, name: str, *, late: bool) -> HeelstampError:
    if late or code == -getattr(signal, "SIGXCPU", 0):
        return LimitError(_TOO_LONG, where=name, remedy=_REMEDY)
    how = f"signal {-code}" if code < 0 else f"exit code {code}"
    return LimitError("the file brought its reader down", where=name, received=how, remedy=_REMEDY)


_decoder = Decoder(turns=turns_of_user())


def peak_bytes() -> int:
    """The most memory that the reading process held up to its last answer; 0: not known."""
    return _decoder.peak


def read_photograph(data: bytes, name: str) -> PhotographFacts:
    """Read what a photograph says of itself: `photographs.read_photograph`."""
    return msgspec.convert(_decoder.run("read_photograph", data, name)[0], PhotographFacts)


def camera_settings(data: bytes, name: str) -> str:
    """Exposure time, aperture and sensitivity: `photographs.camera_settings`."""
    return msgspec.convert(_decoder.run("camera_settings", data, name)[0], str)


def outgoing_copy(data: bytes, name: str, longest_px: int, *, draft: bool = False) -> bytes:
    """A JPEG of a photograph for papers: `outgoing.outgoing_copy`."""
    options = {"longest_px": longest_px, "draft": draft}
    return bytes(_decoder.run("outgoing_copy", data, name, options)[1])


def upright_rgb(data: bytes, name: str, *, most_pixels: int | None = None) -> NDArray[np.uint8]:
    """Decode a photograph to height × width × 3: `pixels.upright_rgb`."""
    import numpy as np  # noqa: PLC0415 - the module is imported where there is no array yet

    options = {} if most_pixels is None else {"most_pixels": most_pixels}
    shape, content = _decoder.run("upright_rgb", data, name, options)
    return np.frombuffer(content, np.uint8).reshape(msgspec.convert(shape, tuple[int, int, int]))


def measure_photograph(
    data: bytes, name: str, *, grey_row: Sequence[float] | None = None
) -> PhotoMeasures:
    """Measure a photograph: `photo_care.measure_photograph`."""
    options = {"grey_row": None if grey_row is None else list(grey_row)}
    told, _ = _decoder.run("measure_photograph", data, name, options)
    return msgspec.convert(told, PhotoMeasures)


def read_recording(
    data: bytes, name: str, *, channel: int | Literal["mix"] | None = None
) -> Recording:
    """Decode a recording and choose one channel: `sound.read_recording`."""
    import numpy as np  # noqa: PLC0415 - as above

    from heelstamp.acoustics.recording import Recording  # noqa: PLC0415

    told, content = _decoder.run("read_recording", data, name, {"channel": channel})
    return Recording(samples=np.frombuffer(content, np.float32), **told)


def read_mail(data: bytes, name: str) -> Mail:
    """Read a mail: `mail.read_mail`."""
    from heelstamp.media.mail import Mail  # noqa: PLC0415 - with the parser of mails

    return msgspec.convert(_decoder.run("read_mail", data, name)[0], Mail)


def read_sheet(
    data: bytes, name: str, sheet: str | None = None, *, most_rows: int | None = None
) -> Sheet:
    """Read a table: `spreadsheets.read_sheet`; CSV, bounded as it is read, in this process."""
    if not name.lower().endswith(".xlsx"):
        from heelstamp.media.spreadsheets import read_sheet as read_here  # noqa: PLC0415

        return read_here(data, name, sheet, most_rows=most_rows)
    options = {"sheet": sheet, "most_rows": most_rows}
    return msgspec.convert(_decoder.run("read_sheet", data, name, options)[0], Sheet)


def read_rows(
    data: bytes,
    name: str,
    sheet: str | None = None,
    *,
    most_rows: int | None = None,
    encoding: str = "",
) -> Sheet:
    """Read a table's rows: `spreadsheets.read_rows`; CSV in this process, as `read_sheet` does."""
    if not name.lower().endswith(".xlsx"):
        from heelstamp.media.spreadsheets import read_rows as read_here  # noqa: PLC0415

        return read_here(data, name, sheet, most_rows=most_rows, encoding=encoding)
    options = {"sheet": sheet, "most_rows": most_rows, "encoding": encoding}
    return msgspec.convert(_decoder.run("read_rows", data, name, options)[0], Sheet)
