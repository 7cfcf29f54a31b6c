"""Certified regressions under kernels that other processors would take; they must not differ.

OpenBLAS chooses its kernels by the processor and sums in another order in each, and NumPy chooses
its loops likewise. ``OPENBLAS_CORETYPE`` and ``NPY_DISABLE_CPU_FEATURES`` name another choice (the
OpenBLAS and the NumPy manuals). Only x86 has the kernels that are named here.
"""

import os
import platform
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

HERE = Path(__file__).parent
CHOICES = ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE", "NPY_DISABLE_CPU_FEATURES")
ASKS_FOR = {"Haswell": {"AVX2", "X86_V3"}, "Nehalem": {"SSE42", "X86_V2"}, "": set[str]()}
"""Kernels, and what a processor must have of to run them; the last is this machine's own choice."""


def simd() -> dict[str, list[str]]:
    """Instruction sets that NumPy takes for granted, and those it found besides."""
    told: dict[str, list[str]] = np.show_config(mode="dicts")["SIMD Extensions"]
    return told


@pytest.mark.parametrize("kernel", ASKS_FOR, ids=lambda one: one or "its own")
def test_certified_regressions_hold_under_the_kernel(kernel: str) -> None:
    if kernel and platform.machine() not in {"x86_64", "AMD64"}:
        pytest.skip(f"{kernel} is a kernel for x86, this is {platform.machine()}")
    found = simd().get("found", [])
    if kernel and not ASKS_FOR[kernel] & {*simd()["baseline"], *found}:
        pytest.skip(f"this processor cannot run the kernel {kernel}")
    env = {key: value for key, value in os.environ.items() if key not in CHOICES}
    if kernel:
        env |= {"OPENBLAS_CORETYPE": kernel, "NPY_DISABLE_CPU_FEATURES": " ".join(found)}
    run = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:xdist",
            "--noconftest",
            HERE / "test_nist_linear.py",
        ],
        cwd=HERE.parent.parent,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr[-2000:]
