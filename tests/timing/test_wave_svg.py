"""The picture is well-formed, and each mark is at its time."""

from __future__ import annotations

import itertools
from xml.etree import ElementTree

import numpy as np
import pytest

from handsfree.timing.cycle import MOMENTS, cycle_of
from handsfree.timing.wave_svg import MarkLine, mark_lines, wave_svg
from tests.timing.test_cycle import SIX_S, marks_at

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("count", [4, 6])
def test_each_mark_is_drawn_at_its_time_with_its_name(count: int):
    marks = marks_at(*SIX_S[:count])
    sound = np.random.default_rng(1).integers(-900, 900, 20 * 16000, dtype=np.int16)

    root = ElementTree.fromstring(wave_svg(sound, mark_lines(marks, cycle_of(marks))))

    at = [float(line.attrib["x1"]) for line in root.iter(f"{SVG}line")]
    assert at == pytest.approx([1000 * second / 20 for second in SIX_S[:count]])
    said = "\n".join(text.text or "" for text in root.iter(f"{SVG}text"))
    names = [moment.value for moment in MOMENTS] if count == 6 else ["mark 1", "mark 4"]
    assert all(name in said for name in names)


@pytest.mark.parametrize("first_s", [2.0, 4.0, 6.0])
def test_no_name_is_written_over_another(first_s: float):
    """Twelve marks in 20 s, as of both leaves in one cycle; a letter is 6 to 7 wide at size 12."""
    moments = [moment.value for moment in MOMENTS]
    lines = [
        MarkLine(
            at_s=first_s + 2.4 * nth + later, uncertainty_s=0.01, name=f"{leaf} leaf, {moment}"
        )
        for nth, moment in enumerate(moments)
        for leaf, later in (("left", 0.0), ("right", 1.2))
    ]

    root = ElementTree.fromstring(wave_svg(np.zeros(22 * 16000, np.int16), lines))

    spans = []
    for text in root.iter(f"{SVG}text"):
        if "leaf" not in (text.text or ""):
            continue
        x, wide = float(text.attrib["x"]) + float(text.attrib["dx"]), 6.5 * len(text.text or "")
        low = x - wide if text.attrib["text-anchor"] == "end" else x
        spans.append((text.attrib["y"], low, low + wide))
        assert low >= 0
        assert low + wide <= 1000
    assert len(spans) == 12
    for (row, low, high), (other, a, b) in itertools.combinations(spans, 2):
        assert row != other or high <= a or b <= low


def test_no_sound_is_drawn_too():
    assert ElementTree.fromstring(wave_svg(np.zeros(0, np.int16), ()))


def test_a_long_loud_run_of_two_leaves_stays_small():
    sound = np.random.default_rng(1).integers(-32768, 32767, 90 * 16000, dtype=np.int16)
    lines = [
        MarkLine(at_s=7.123 * n, uncertainty_s=0.03, name=f"right, {MOMENTS[1]}") for n in range(12)
    ]

    assert len(wave_svg(sound, lines).encode()) < 15000
