"""What a process that decodes strangers' files is kept from: memory, time, files, the network.

Limits are those of POSIX ``setrlimit``. On Linux a filter of system calls (seccomp(2), mode 2;
codes of linux/bpf_common.h, linux/seccomp.h and linux/audit.h) refuses for good to open a socket or
to start a program; threads, which decoders use, stay allowed. Where a system has neither, what is
left is that nothing here opens a socket, and the bounds that are looked at before decoding.
"""

from __future__ import annotations

import contextlib
import os
import platform
import struct
import sys

_ARCHITECTURES = {
    # AUDIT_ARCH; socket, connect, socketpair, execve, execveat, fork, vfork, ptrace, io_uring_setup
    "x86_64": (0xC000003E, (41, 42, 53, 59, 322, 57, 58, 101, 425)),
    "aarch64": (0xC00000B7, (198, 203, 199, 221, 281, 117, 425)),
}
_LOAD, _EQUAL, _AT_LEAST, _RETURN = 0x20, 0x15, 0x35, 0x06
_ALLOW, _REFUSE, _KILL = 0x7FFF0000, 0x00050001, 0x80000000  # refuse: errno EPERM
_SECOND_ABI = 0x40000000  # x32, which has numbers of its own
_NO_NEW_PRIVILEGES, _SET_SECCOMP, _FILTER = 38, 22, 2
_OPEN_FILES = 128
_UNKNOWN_SIZE = 1_000_000_000
"""Address space taken to be in use where the system does not tell."""


def confine() -> None:
    """Renounce writing files, dumping memory, opening sockets and starting programs, for good."""
    if sys.platform == "win32":  # it has no such limits
        return
    try:
        import resource  # noqa: PLC0415 - not on every other system
    except ImportError:
        return
    for kind, most in (
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_NOFILE, _OPEN_FILES),
    ):
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(kind, (most, most))
    if sys.platform == "linux" and platform.machine() in _ARCHITECTURES:
        with contextlib.suppress(OSError, AttributeError):
            _refuse_calls(*_ARCHITECTURES[platform.machine()])


def grant(memory_bytes: int, cpu_seconds: int) -> None:
    """Bound what the process may take from now on: address space, and time of the processor.

    Beyond the first an allocation fails; beyond the second the system ends the process (SIGXCPU).
    """
    if sys.platform == "win32":
        return
    try:
        import resource  # noqa: PLC0415 - as above
    except ImportError:
        return
    spent = resource.getrusage(resource.RUSAGE_SELF)
    most_seconds = int(spent.ru_utime + spent.ru_stime) + 1 + cpu_seconds
    for kind, most in (
        (resource.RLIMIT_AS, _size() + memory_bytes),
        (resource.RLIMIT_CPU, most_seconds),
    ):
        _, hard = resource.getrlimit(kind)
        bound = most if hard == resource.RLIM_INFINITY else min(most, hard)
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(kind, (bound, hard))


def peak_bytes() -> int:
    """Most memory that this process ever held at once; 0 where the system does not tell."""
    return 1024 * _status("VmHWM:")


def _size() -> int:
    return 1024 * _status("VmSize:") or _UNKNOWN_SIZE


def _status(field: str) -> int:
    """Read a number of kB from proc(5); 0 without it."""
    try:
        with open("/proc/self/status", encoding="ascii") as file:  # noqa: PTH123 - no pathlib yet
            return next((int(line.split()[1]) for line in file if line.startswith(field)), 0)
    except (OSError, ValueError):
        return 0


def _refuse_calls(architecture: int, calls: tuple[int, ...]) -> None:
    """Hand the filter to the system; it cannot be taken back."""
    import ctypes  # noqa: PLC0415 - on Linux alone

    steps = [
        (_LOAD, 0, 0, 4),  # seccomp_data.arch
        (_EQUAL, 1, 0, architecture),
        (_RETURN, 0, 0, _KILL),
        (_LOAD, 0, 0, 0),  # seccomp_data.nr
        (_AT_LEAST, len(calls) + 1, 0, _SECOND_ABI),
        *((_EQUAL, len(calls) - n, 0, call) for n, call in enumerate(calls)),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, _REFUSE),
    ]
    written = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *one) for one in steps))

    class Program(ctypes.Structure):
        _fields_ = (("length", ctypes.c_ushort), ("steps", ctypes.c_void_p))

    program = Program(len(steps), ctypes.addressof(written))
    system = ctypes.CDLL(None, use_errno=True)
    if system.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0) or system.prctl(
        _SET_SECCOMP, _FILTER, ctypes.byref(program), 0, 0
    ):
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))
