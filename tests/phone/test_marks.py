"""The stopwatch of the page, run in node, finds the desktop's marks in the same sound."""

import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.data import data_folder
from handsfree.phone import voice_net
from handsfree.phone.build import STATIC
from handsfree.phone.onset_weights import weights
from handsfree.recognition.voice_activity import CHUNK, Segmenter
from handsfree.timing.onset_detector import OnsetDetector

from ..timing.sounds import stream, tap, word

pytestmark = pytest.mark.slow

RATE = 16_000
MOST_APART = round(0.001 * RATE)  # 1 ms


def in_node(script, *arguments):
    """The answer (JSON) of a script beside this file, run in node with the page's modules."""
    if shutil.which("node") is None:
        pytest.skip("no node here: apt-get install nodejs")
    command = ["node", Path(__file__).parent / script, STATIC, *arguments]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def spoken():
    """Three words of a timed run in the recorded visit, in the noise of its hall."""
    file = data_folder("audio_fixtures") / "harbour-hall.flac"
    return soundfile.read(file, dtype="int16", start=164 * RATE, stop=174 * RATE)[0]


def tapped():
    return stream(5.0, {1.2: tap(), 2.4: word(), 3.4: tap(900)})


@pytest.mark.parametrize(
    ("sound", "least_rms", "count"), [(spoken, 0.0, 3), (tapped, 0.0, 3), (tapped, 0.02, 3)]
)
def test_the_marks_are_those_of_the_desktop(sound, least_rms, count, tmp_path):
    samples = sound()
    (tmp_path / "weights").write_bytes(weights())
    (tmp_path / "sound").write_bytes(samples.tobytes())
    files = tmp_path / "weights", str(least_rms), tmp_path / "sound"
    found = in_node("marks.mjs", *files)["marks"]
    detector = OnsetDetector(least_rms=least_rms)
    wanted = detector.feed(samples) + detector.finish()
    assert len(found) == len(wanted) == count
    for mine, mark in zip(found, wanted, strict=True):
        assert abs(mine["sample"] - mark.sample) <= MOST_APART
        assert abs(mine["end_sample"] - mark.end_sample) <= MOST_APART
        assert mine["snr_db"] == pytest.approx(mark.snr_db, abs=0.06)  # the desktop's is rounded
        assert mine["level_db"] == pytest.approx(mark.level_db, abs=0.06)
        assert mine["uncertainty_s"] == pytest.approx(mark.uncertainty_s, abs=2e-4)
        assert mine["clipped"] == mark.clipped
    assert np.all(np.diff([mine["sample"] for mine in found]) > 0)


def test_a_run_is_cut_into_the_desktops_utterances_whatever_its_first_block(tmp_path):
    samples = spoken()
    for name, content in (
        ("onset", weights()),
        ("voice", voice_net.weights()),
        ("sound", samples.tobytes()),
    ):
        (tmp_path / name).write_bytes(content)
    files = [tmp_path / name for name in ("onset", "voice", "sound")]
    found = in_node("cycle.mjs", *files, "100")
    whole = samples[: len(samples) // CHUNK * CHUNK]
    wanted = [[each.start_sample, len(each.samples)] for each in Segmenter().feed(whole)]
    assert found["segments"][: len(wanted)] == wanted and wanted
    assert found["count"] == len(samples) and len(found["marks"]) == 3


def test_a_piece_of_a_run_is_cut_where_later_blocks_follow():
    spans = [(0, 16), (1, 3), (3, 9), (4, 8), (10, 16)]
    assert in_node("piece.mjs") == [list(range(*span)) for span in spans]


def test_sound_that_the_browser_lost_is_noticed_and_chunks_that_come_late_are_not():
    lost = in_node("steady.mjs")
    assert lost["steady"] == lost["late"] == lost["drifting"] == 0
    assert lost["small"] == pytest.approx(0.05, abs=0.005)
    assert lost["large"] == pytest.approx(0.16, abs=0.005)
