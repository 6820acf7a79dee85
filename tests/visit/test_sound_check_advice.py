"""The advice for the findings of a sound check."""

from __future__ import annotations

import numpy as np

from handsfree.audio.echo_detection import Echo
from handsfree.audio.sound_measurements import SoundMeasurement, measure
from handsfree.language.wording import wording
from handsfree.visit.sound_check_advice import SpokenPhrase, advise

ROOM = SoundMeasurement(
    seconds=2, peak_db=-50, loud_db=-58, floor_db=-62, zero_share=0.01, clipped=False, hum_hz=None
)
VOICE = ROOM.model_copy(update={"loud_db": -20.0, "peak_db": -8.0})
GOOD = SpokenPhrase(
    asked="affirm", heard="affirm", understood=True, sound=VOICE, snr_db=30, readability=5
)
MISSED = GOOD.model_copy(update={"heard": "[unk]", "understood": False})
NO_ECHO = Echo(heard=False, clearness=4)
ECHO = Echo(heard=True, clearness=90, delay_s=0.3, level_db=-40)


def kinds(quiet=ROOM, echo=NO_ECHO, samples=(GOOD,) * 3, headset=True, why=None):
    found = advise(wording(), quiet, echo, samples, headset=headset, no_loudspeaker=why)
    return [(advice.kind, advice.serious) for advice in found]


def voices(**change):
    return (GOOD.model_copy(update={"sound": VOICE.model_copy(update=change)}),) * 3


def test_a_good_headset_needs_no_advice():
    assert kinds() == []


def test_silence_is_the_one_thing_that_is_told():
    zeros = measure(np.zeros(32_000, np.int16))
    assert kinds(quiet=zeros, samples=(), echo=None) == [("silent", True)]


def test_a_loudspeaker_in_the_room_that_was_declared_a_headset_is_serious():
    assert kinds(echo=ECHO) == [("echo", True)]
    assert kinds(echo=ECHO, headset=False) == [("echo", False)]
    assert kinds(headset=False) == [("no_echo", False)]
    assert kinds(echo=None) == []


def test_what_is_wrong_with_the_voice_is_named():
    assert kinds(samples=voices(clipped=True)) == [("clipped", False)]
    assert kinds(samples=voices(loud_db=-50.0)) == [("too_soft", False)]
    nobody = SpokenPhrase(asked="affirm", heard="", understood=False)
    assert kinds(samples=(nobody,) * 3) == [("nobody_heard", True)]


def test_the_room_is_named_where_it_is_loud_or_hums():
    assert kinds(quiet=ROOM.model_copy(update={"floor_db": -35.0})) == [("noisy", False)]
    hums = ROOM.model_copy(update={"floor_db": -35.0, "hum_hz": 50})
    assert kinds(quiet=hums) == [("hum", False)]
    assert kinds(quiet=hums.model_copy(update={"floor_db": -90.0})) == []


def test_most_of_it_misheard_is_serious_and_the_worst_comes_first():
    assert kinds(samples=(GOOD, GOOD, MISSED)) == [("misheard", False)]
    assert kinds(samples=(GOOD, MISSED, MISSED), echo=ECHO, headset=False) == [
        ("misheard", True),
        ("echo", False),
    ]
    unread = GOOD.model_copy(update={"readability": 2})
    assert kinds(samples=(unread, unread, GOOD)) == [("unreadable", True)]


def test_without_a_loudspeaker_the_prompts_are_printed():
    (advice,) = advise(
        wording(), ROOM, None, (GOOD,), headset=False, no_loudspeaker="there is no loudspeaker"
    )
    assert "there is no loudspeaker. The prompts will be printed." in advice.text
