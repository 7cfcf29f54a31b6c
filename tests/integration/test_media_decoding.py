"""The process that decodes: the same results, limits, death and what it is kept from."""

from __future__ import annotations

import io
import signal
import subprocess
import sys
import threading

import numpy as np
import pytest
import soundfile
from PIL import Image

from fakes import bombs
from heelstamp.errors import ConflictError, InputError, LimitError
from heelstamp.media import decoding, outgoing, photo_care, photographs, pixels, sound, spreadsheets
from heelstamp.media.decoding import Decoder
from heelstamp.media.turns import Turns

linux = pytest.mark.skipif(sys.platform != "linux", reason="limits of Linux")


def photograph() -> bytes:
    buffer = io.BytesIO()
    Image.effect_noise((320, 240), 60).convert("RGB").save(buffer, "JPEG", quality=90)
    return buffer.getvalue()


def recording() -> bytes:
    buffer = io.BytesIO()
    samples = np.sin(np.arange(48_000) / 20.0)
    soundfile.write(buffer, np.stack([samples * 0.1, samples]).T, 48_000, format="WAV")
    return buffer.getvalue()


@pytest.fixture
def decoder():
    made = Decoder()
    yield made
    made.close()


def test_results_are_those_of_the_readers_themselves() -> None:
    data = photograph()
    assert decoding.read_photograph(data, "a") == photographs.read_photograph(data, "a")
    assert decoding.camera_settings(data, "a") == photographs.camera_settings(data, "a")
    assert decoding.measure_photograph(data, "a") == photo_care.measure_photograph(data, "a")
    assert decoding.outgoing_copy(data, "a", 100) == outgoing.outgoing_copy(data, "a", 100)
    found = decoding.upright_rgb(data, "a")
    assert found.dtype == np.uint8
    assert np.array_equal(found, pixels.upright_rgb(data, "a"))
    heard, known = decoding.read_recording(recording(), "n"), sound.read_recording(recording(), "n")
    assert np.array_equal(heard.samples, known.samples)
    assert (heard.channel, heard.rate_hz, heard.how_chosen) == (2, 48_000, known.how_chosen)
    table = bombs.workbook(
        f'{bombs.SHEET}<sheetData><row><c><v>1</v></c></row><row><c t="b"><v>1</v></c></row>'
        "</sheetData></worksheet>"
    )
    assert decoding.read_sheet(table, "c.xlsx") == spreadsheets.read_sheet(table, "c.xlsx")
    assert decoding.read_sheet(b"id\n1", "c.csv") == spreadsheets.read_sheet(b"id\n1", "c.csv")


def test_refusals_are_those_of_the_readers_themselves() -> None:
    with pytest.raises(InputError, match="not a photograph") as caught:
        decoding.read_photograph(b"plain words", "front.jpg")
    with pytest.raises(InputError) as known:
        photographs.read_photograph(b"plain words", "front.jpg")
    assert str(caught.value) == str(known.value)
    with pytest.raises(InputError, match="more pixels"):
        decoding.upright_rgb(photograph(), "a", most_pixels=100)
    with pytest.raises(InputError, match="no such channel"):
        decoding.read_recording(recording(), "n", channel=3)


def test_loading_it_loads_no_library_of_pictures_sound_or_tables() -> None:
    program = (
        "import sys, heelstamp.media.decoding; "
        "print([one for one in ('PIL', 'numpy', 'soundfile', 'openpyxl', 'rawpy') "
        "if one in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    assert told.stdout.strip() == b"[]"


def test_one_process_serves_and_one_that_was_ended_is_replaced(decoder: Decoder) -> None:
    data = photograph()
    decoder.run("read_photograph", data, "a")
    first = decoder._process
    decoder.run("read_photograph", data, "a")
    assert first is not None
    assert decoder._process is first
    first.kill()
    first.wait()
    assert decoder.run("read_photograph", data, "a")[0]["width"] == 320
    assert decoder._process is not first


@linux
def test_a_process_that_dies_of_a_file_is_a_refusal_and_the_next_file_is_read(
    decoder: Decoder,
) -> None:
    decoder.run("read_photograph", photograph(), "a")
    process = decoder._process
    assert process is not None
    process.send_signal(signal.SIGSTOP)
    ended = threading.Timer(0.2, process.send_signal, [signal.SIGSEGV])
    kill = threading.Timer(0.4, process.send_signal, [signal.SIGCONT])
    ended.start()
    kill.start()
    with pytest.raises(LimitError, match="brought its reader down") as caught:
        decoder.run("read_photograph", photograph(), "bad.jpg")
    assert caught.value.where == "bad.jpg"
    assert caught.value.received == f"signal {int(signal.SIGSEGV)}"
    assert caught.value.remedy
    assert decoder.run("read_photograph", photograph(), "a")[0]["width"] == 320


@linux
def test_one_that_stands_still_is_ended() -> None:
    decoder = Decoder(patience_s=1.0)
    decoder.run("read_photograph", photograph(), "a")
    assert decoder._process is not None
    decoder._process.send_signal(signal.SIGSTOP)
    with pytest.raises(LimitError, match="takes longer") as caught:
        decoder.run("read_photograph", photograph(), "slow.jpg")
    assert caught.value.where == "slow.jpg"
    decoder.close()


def test_one_file_at_a_time(decoder: Decoder) -> None:
    turns = Turns()
    waiting = Decoder(patience_s=0.05, turns=turns)
    with turns.waited_for(1.0), pytest.raises(ConflictError, match="other files are being read"):
        waiting.run("read_photograph", photograph(), "a")


CONFINED = """
import errno, os, socket, resource
from heelstamp.media.confinement import confine, grant
confine()
told = []
for act in (lambda: socket.socket(), lambda: socket.socketpair(),
            lambda: os.execv("/bin/true", ["true"]), lambda: open("left", "wb", 0).write(b"x")):
    try:
        act()
        told.append("done")
    except OSError as error:
        told.append(errno.errorcode[error.errno])
import threading
thread = threading.Thread(target=told.append, args=("thread",))
thread.start(); thread.join()
grant(50_000_000, 5)
try:
    bytes(100_000_000)
except MemoryError:
    told.append("memory")
print(*told)
grant(50_000_000, 0)
while True:
    pass
"""


@linux
def test_it_opens_no_socket_starts_no_program_writes_no_file_and_ends_in_time(tmp_path) -> None:
    """The system's own answer; a machine whose kernel takes no filter would show here."""
    done = subprocess.run(
        [sys.executable, "-c", CONFINED], check=False, capture_output=True, cwd=tmp_path, text=True
    )
    assert done.stdout.split() == ["EPERM"] * 3 + ["EFBIG", "thread", "memory"], done.stderr
    assert done.returncode == -signal.SIGXCPU
    left = tmp_path / "left"
    assert not left.exists() or left.read_bytes() == b""


@linux
def test_too_much_memory_is_a_refusal_and_the_next_file_is_read(decoder: Decoder) -> None:
    """108 million pixels take 432 MB, in a process that the machine gives 300."""
    data = bombs.png(12_000, 9_000, colour=2, between=bombs.chunk(b"prVt", bytes(10**6)))
    decoder.run("read_photograph", photograph(), "a")
    process = decoder._process
    assert process is not None
    import resource

    resource.prlimit(process.pid, resource.RLIMIT_AS, (300_000_000, 300_000_000))
    with pytest.raises(LimitError, match="more memory"):
        decoder.run("read_photograph", data, "large.png")
    assert decoder.run("read_photograph", photograph(), "a")[0]["width"] == 320
