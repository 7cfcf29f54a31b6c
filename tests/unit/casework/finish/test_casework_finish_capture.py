"""UV-A frames of one face that were not taken alike are refused with the step that mends it."""

import pytest

from heelstamp.casework.finish import Frames, Lamp, Taken, check_taken
from heelstamp.casework.ports import NamedFile
from heelstamp.errors import InputError


def named(name: str) -> NamedFile:
    return NamedFile(b"", name)


FRAMES = Frames(
    named("seen"), named("right"), (named("left"),), (named("flat-right"), named("flat-left"))
)
ALIKE = Taken("jpeg", "a camera", "2 s, f/8, ISO 200")


def test_frames_taken_alike_go_together_and_what_a_file_does_not_tell_is_not_held_against_it() -> (
    None
):
    check_taken(FRAMES, [ALIKE] * 4)
    check_taken(FRAMES, [ALIKE, Taken("jpeg"), Taken(""), ALIKE])


@pytest.mark.parametrize(
    ("place", "taken", "words"),
    [
        (1, Taken("heic"), "UV-A frame of another kind of file"),
        (1, Taken("jpeg", "another"), "UV-A frame of another camera"),
        (1, Taken("jpeg", "", "4 s, f/8, ISO 200"), "UV-A frame with other camera settings"),
        (2, Taken("jpeg", "", "1 s, f/8, ISO 200"), "flat frame with other camera settings"),
        (3, Taken("raw"), "flat frame of another kind of file"),
    ],
)
def test_what_was_taken_otherwise_is_named(place: int, taken: Taken, words: str) -> None:
    told = [ALIKE] * 4
    told[place] = taken
    with pytest.raises(InputError, match=words) as caught:
        check_taken(FRAMES, told)
    assert "one camera" in caught.value.remedy
    assert caught.value.where == (*FRAMES.glowing, *FRAMES.flats)[place].name


def test_too_many_frames_and_missing_flats() -> None:
    with pytest.raises(InputError, match="too many UV-A frames"):
        Frames(named("seen"), named("a"), (named("b"), named("c"), named("d")))
    with pytest.raises(InputError, match="a flat frame is missing"):
        Frames(named("seen"), named("a"), (named("b"),), (named("flat"),))


@pytest.mark.parametrize("lamp", [{"wavelength_nm": 254.0}, {"distance_mm": 1.0}])
def test_a_lamp_that_cannot_be(lamp: dict[str, float]) -> None:
    with pytest.raises(InputError, match="no"):
        Lamp(**lamp)  # type: ignore[arg-type]
