"""The picture of a run, drawn from its clip."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from handsfree.job.reading import Subject
from handsfree.journal.clip_files import store_clip
from handsfree.reports.embedded_sound import LinkedSound
from handsfree.reports.run_picture import run_view
from handsfree.visit_record.cycles import TimedRun

CYCLE_S = (1.0, 5.2, 7.1, 13.6, 18.0, 20.1)


def sounding(folder: Path) -> TimedRun:
    samples = np.random.default_rng(1).integers(-9000, 9000, 22 * 16000, dtype=np.int16)
    clip, _ = store_clip(folder, 7, samples)
    mark = {
        "leaf": None,
        "moment": None,
        "word": None,
        "doubt_s": 0.02,
        "snr_db": 20.0,
        "clipped": False,
    }
    return TimedRun(
        seq=7,
        at="2100-01-01T00:00:00.000Z",
        leaf=Subject.LEFT_LEAF,
        nth=1,
        outcome="in doubt",
        marks=tuple({"at_s": at, **mark} for at in CYCLE_S),
        times=(),
        clip=clip,
    )


def test_the_picture_is_drawn_from_the_clip(tmp_path):
    run = sounding(tmp_path)

    svg = run_view(run, LinkedSound(tmp_path, "/")).svg

    lines = list(ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}line"))
    at = [float(line.attrib["x1"]) / 1000 * 22 for line in lines]
    assert at == pytest.approx(CYCLE_S, abs=0.01)
    assert len(svg.encode()) < 15000


def test_a_run_without_sound_has_no_picture(tmp_path):
    run = sounding(tmp_path)
    sound = LinkedSound(tmp_path, "/")

    assert run_view(run.model_copy(update={"clip": None}), sound).svg is None
    (tmp_path / "clips" / run.clip).unlink()
    assert run_view(run, sound).svg is None
