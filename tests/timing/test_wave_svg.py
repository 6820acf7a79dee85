"""The picture is well-formed, and each mark stands at its time."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest

from handsfree.timing.cycle import MOMENTS, cycle_of
from handsfree.timing.wave_svg import wave_svg
from tests.timing.test_cycle import SIX_S, marks_at

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("count", [4, 6])
def test_each_mark_is_drawn_at_its_time_with_its_name(count: int):
    marks = marks_at(*SIX_S[:count])
    sound = np.random.default_rng(1).integers(-900, 900, 20 * 16000, dtype=np.int16)

    root = ElementTree.fromstring(wave_svg(sound, marks, cycle_of(marks)))

    at = [float(line.attrib["x1"]) for line in root.iter(f"{SVG}line")]
    assert at == pytest.approx([1000 * second / 20 for second in SIX_S[:count]])
    said = "\n".join(text.text or "" for text in root.iter(f"{SVG}text"))
    names = [moment.value for moment in MOMENTS] if count == 6 else ["mark 1", "mark 4"]
    assert all(name in said for name in names)


def test_no_sound_is_drawn_too():
    assert ElementTree.fromstring(wave_svg(np.zeros(0, np.int16), (), cycle_of(())))
