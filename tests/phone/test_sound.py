"""The page's processing of sound, run in node, gives the desktop's utterances, levels and
samples.
"""

import base64
import io
import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.audio.levels import snr_db, voice_rms
from handsfree.data import data_folder
from handsfree.phone.build import STATIC
from handsfree.phone.sound_files import noise
from handsfree.phone.voice_net import weights
from handsfree.recognition.recognizer import padded
from handsfree.recognition.voice_activity import CHUNK, Segmenter
from handsfree.recognition.voice_net import voice_net

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def sound():
    file = data_folder("audio_fixtures") / "harbour-hall.flac"
    return soundfile.read(file, dtype="int16", stop=16_000 * 30)[0]


@pytest.fixture(scope="module")
def made(sound, tmp_path_factory):
    if shutil.which("node") is None:
        pytest.skip("no node here: apt-get install nodejs")
    folder = tmp_path_factory.mktemp("sound")
    (folder / "weights").write_bytes(weights())
    (folder / "sound").write_bytes(sound.tobytes())
    (folder / "noise").write_bytes(noise())
    script = Path(__file__).parent / "sound.mjs"
    done = subprocess.run(
        ["node", script, STATIC, folder / "weights", folder / "sound", folder / "noise"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def test_the_net_gives_the_probabilities_of_the_desktops(made, sound):
    net = voice_net()
    whole = len(sound) // CHUNK * CHUNK
    wanted = [net.process_chunk(sound[i : i + CHUNK].tobytes()) for i in range(0, whole, CHUNK)]
    # The desktop rounds the spectrum's weights to 16 bits on the way.
    assert np.abs(np.array(made["probabilities"]) - wanted).max() < 0.005


def test_the_utterances_are_those_of_the_desktop(made, sound):
    wanted = list(Segmenter().feed(sound))
    found = [(each["start"], each["length"]) for each in made["segments"]]
    assert found == [(each.start_sample, len(each.samples)) for each in wanted]
    for each, segment in zip(made["segments"], wanted, strict=True):
        assert each["snrDb"] == pytest.approx(snr_db(segment.samples), abs=1e-6)
        assert each["rms"] == pytest.approx(voice_rms(segment.samples), abs=1e-9)


def test_the_recognizer_gets_what_it_gets_on_the_desktop(made, sound):
    for each in made["segments"]:
        samples = sound[each["start"] : each["start"] + each["length"]]
        assert np.array_equal(np.array(each["padded"]), padded(samples))


def test_libsndfile_reads_the_pages_flac_without_loss(made, sound):
    for each in made["segments"]:
        content = base64.b64decode(each["flac"])
        samples, rate = soundfile.read(io.BytesIO(content), dtype="int16")
        assert rate == 16_000
        assert np.array_equal(samples, sound[each["start"] : each["start"] + each["length"]])
        assert len(content) < 1.9 * len(samples)
