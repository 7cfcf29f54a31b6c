"""OpenCV's filters by IPP round by the address of an image: they are off in every thread."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import cv2
import numpy as np
import pytest

from heelstamp.luminescence.structure import edges


def test_no_thread_filters_by_address() -> None:
    def used() -> bool:
        cv2.GaussianBlur(np.zeros((64, 64), np.float32), (0, 0), 2.0)
        return bool(cv2.ipp.useIPP())

    with ThreadPoolExecutor(2) as workers:
        assert not any(workers.map(lambda _: used(), range(4)))
    assert not used()


def test_a_new_process_says_nothing_of_it() -> None:
    code = "import heelstamp, cv2; print(cv2.ipp.useIPP())"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout.strip(), done.stderr) == ("False", "")


@pytest.mark.parametrize("offset", [4, 12, 20, 36])
def test_edges_are_the_same_wherever_the_image_lies(offset: int) -> None:
    image = cv2.GaussianBlur(
        np.random.default_rng(1).random((420, 603)).astype(np.float32), (0, 0), 2.0
    )
    room = np.empty(image.nbytes + 128, np.uint8)
    begin = -room.ctypes.data % 64 + offset
    elsewhere = room[begin : begin + image.nbytes].view(np.float32).reshape(image.shape)
    elsewhere[...] = image
    assert np.array_equal(edges(elsewhere), edges(image))
