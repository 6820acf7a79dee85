"""The end of a sound, and the start of its last unbroken part."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.timing.noise_floor import end_of, unbroken_from


@pytest.mark.parametrize(
    ("sounds", "end", "since"),
    [
        ("##..#...", 5, 8),
        ("##..#..", None, 7),
        (".##.###", None, 4),
        ("###", None, 0),
        ("", None, 0),
    ],
)
def test_a_sound_ends_where_it_stays_silent_and_is_unbroken_since_its_last_silence(
    sounds: str, end: int | None, since: int
):
    frames = np.array([each == "#" for each in sounds], dtype=bool)

    assert end_of(frames, 3) == end
    assert unbroken_from(frames) == since
