"""A whole recorded visit of a pair into the app's microphone: what the desktop keeps of it."""

import numpy as np
import pytest
import soundfile

from handsfree.audio.capture import FakeCapture
from handsfree.checks.limits import load_limits
from handsfree.clock import FakeClock
from handsfree.data import data_folder
from handsfree.job_file.loader import parse_sheet
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.recognition.constrained_retry import ConstrainedRetry
from handsfree.recognition.cycle_listener import mark_recognizer
from handsfree.recognition.microphone_ears import MicrophoneEars
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.voice_activity import CHUNK
from handsfree.reports.unpack import unpack
from handsfree.synthesis.mouth import SilentMouth
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit

from ..cli.test_visit import readings_of
from ..script import as_expected
from .app import served
from .microphone import FAKE, INSTEAD, play
from .phone_browser import begin, opened, phone, saved_pack, until
from .walks import JOB, PROCEDURE, SHELL

pytestmark = pytest.mark.slow

RECORDING = data_folder("audio_fixtures") / "harbour-hall.flac"
RATE = 16_000
LONGEST_S = 3600.0
"""Time that the app has for the whole visit (s): the machine may be busy, nothing else counts."""
QUIET_AT_S = (2.0, 20.0)
"""As the page has them (static/ears.js)."""
SOUND = ("clip", "clip_sha256", "marks")
TIMES = ("start_s", "end_s")
CHUNK_S = CHUNK / RATE
MOST_CUT_ELSEWHERE = 4
"""Most bodies, of 298 with sound, whose cut may differ by one chunk: the two run the voice net in
different arithmetic, and where voice is as likely as not they may part (two did, of one cut).
"""
SPOKEN = ("aloud", "seconds")
"""How long the tool spoke: a phone speaks after the turn is stored."""


def bodies(folder):
    return [event.body for event in read(folder)]


def same(body):
    """What the two journals must have in common: all but how it was spoken, clips, and times."""
    kept = body.model_dump(mode="json", exclude={*SHELL, *SPOKEN, "zone", *SOUND, *TIMES})
    if isinstance(body, ev.CycleTimed):  # where they are is looked at below
        kept["marks"] = [(mark.spoken, mark.clipped) for mark in body.marks]
        kept["words"] = [(cue.word, cue.leaf) for cue in body.words]
    return kept


def times(body):
    """Where the sound of a body begins and ends (s)."""
    return [float(getattr(body, name)) for name in TIMES if getattr(body, name, None) is not None]


@pytest.fixture(scope="module")
def sound():
    """The recording, in whole chunks, and two seconds more."""
    recorded = soundfile.read(RECORDING, dtype="int16")[0]
    after = np.zeros(2 * RATE + -len(recorded) % CHUNK, np.int16)
    return np.concatenate((recorded, after))[: (len(recorded) + 2 * RATE) // CHUNK * CHUNK]


@pytest.fixture(scope="module")
def desktop(tmp_path_factory, sound):
    """The visit as the desktop hears it with a headset."""
    folder = tmp_path_factory.mktemp("desktop") / "visit"
    sheet, language = parse_sheet(JOB, "job"), Language.load(language="en")
    model = SpeechModel.load()
    procedure, limits = load_procedure(PROCEDURE, None, "en"), load_limits(sheet.limits)
    clock = mark_recognizer(model, language.automaton("mark"), language.mark), language.mark
    hears = VoskRecognizer(model, None, language.parse)
    capture = FakeCapture(*(sound[i : i + CHUNK] for i in range(0, len(sound), CHUNK)))
    ears = MicrophoneEars(capture, hears, clock, headset=True, quiet_at_s=QUIET_AT_S)
    with Journal.create(folder) as journal:
        visit = Visit(
            journal,
            first_state(sheet, procedure, limits, times_by_ear=True),
            language=language,
            ears=ears,
            mouth=SilentMouth("recording"),
            clock=FakeClock(),
            retry=ConstrainedRetry(language),
        )
        shell = {"model": model.name, "ears": "recording", "mouth": "none"}
        visit.open(opening_event(sheet, procedure, limits, **shell))
        assert visit.run()
    return folder


@pytest.fixture(scope="module")
def heard_by_phone(app, tmp_path_factory, sound):
    """The visit as the app hears it, unpacked by the office."""
    folder = tmp_path_factory.mktemp("phone")
    with served(app) as address, phone(*FAKE) as context:
        context.add_init_script(INSTEAD)
        page = opened(context, address)
        begin(page)
        page.click("#headset")  # the recording does not wait for tones
        page.click("#listen")
        until(page, "document.getElementById('listen').getAttribute('aria-pressed') === 'true'")
        play(page, sound)
        until(page, "document.getElementById('line').disabled", LONGEST_S)
        assert page.faults == []
        return unpack(saved_pack(page, folder), folder / "office").folder


def test_it_ends_in_the_same_journal(desktop, heard_by_phone):
    wanted, found = bodies(desktop), bodies(heard_by_phone)
    elsewhere = 0
    for one, other in zip(found, wanted, strict=False):
        assert same(one) == same(other)
        assert times(one) == pytest.approx(times(other), abs=CHUNK_S + 0.01)  # kept to 0.01 s
        elsewhere += times(one) != pytest.approx(times(other), abs=0.011)
    assert len(found) == len(wanted)
    assert elsewhere <= MOST_CUT_ELSEWHERE
    assert verify(heard_by_phone).whole


def test_its_sound_is_the_desktops(desktop, heard_by_phone):
    """Clips have the desktop's samples, but for a cut that differs by one chunk."""
    kept = [
        [b for b in bodies(each) if getattr(b, "clip", None)] for each in (desktop, heard_by_phone)
    ]
    assert len(kept[0]) == len(kept[1]) > 140
    elsewhere = 0
    for one, other in zip(*kept, strict=True):
        wanted, found = (
            soundfile.read(folder / "clips" / body.clip, dtype="int16")[0]
            for folder, body in ((desktop, one), (heard_by_phone, other))
        )
        assert abs(len(wanted) - len(found)) <= CHUNK
        elsewhere += not np.array_equal(wanted, found)
    assert elsewhere <= MOST_CUT_ELSEWHERE


def test_its_runs_of_the_clock_have_the_same_marks(desktop, heard_by_phone):
    runs = [
        [body for body in bodies(folder) if isinstance(body, ev.CycleTimed)]
        for folder in (desktop, heard_by_phone)
    ]
    assert len(runs[0]) == 3
    for wanted, found in zip(*runs, strict=True):
        places = [
            [(mark.sample - run.marks[0].sample) / RATE for mark in run.marks]
            for run in (wanted, found)
        ]
        assert len(places[1]) == 6
        assert places[1] == pytest.approx(places[0], abs=0.001)


def test_its_readings_are_the_scripts(heard_by_phone):
    assert as_expected(readings_of(heard_by_phone))
