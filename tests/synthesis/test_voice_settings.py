from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from handsfree.synthesis.voice_settings import VoiceChange, VoiceSettings

CHANGES: tuple[VoiceChange, ...] = get_args(VoiceChange)
MANNERS = st.builds(VoiceSettings, rate_wpm=st.integers(100, 320), volume=st.integers(0, 100))


def steps_to_the_bound(manner: VoiceSettings, change: VoiceChange) -> list[VoiceSettings]:
    steps = [manner]
    while (following := steps[-1].changed(change)) != steps[-1]:
        steps.append(following)
    return steps


@given(MANNERS, st.sampled_from(CHANGES))
def test_every_change_ends_at_its_bound_and_leaves_the_rest(
    manner: VoiceSettings, change: VoiceChange
) -> None:
    last = steps_to_the_bound(manner, change)[-1]
    bounds = {"slower": 100, "faster": 320, "softer": 0, "louder": 100}
    if change in ("slower", "faster"):
        assert (last.rate_wpm, last.volume) == (bounds[change], manner.volume)
    else:
        assert (last.rate_wpm, last.volume) == (manner.rate_wpm, bounds[change])


def test_the_usual_manner_is_the_voice_as_it_is_made_with_room_to_every_side() -> None:
    usual = VoiceSettings()
    assert (usual.rate_wpm, usual.gain_db) == (170, 0)
    assert {change: len(steps_to_the_bound(usual, change)) - 1 for change in CHANGES} == {
        "slower": 3,
        "faster": 6,
        "louder": 2,
        "softer": 3,
    }


def test_a_step_of_volume_is_five_decibels() -> None:
    assert [m.gain_db for m in steps_to_the_bound(VoiceSettings(volume=0), "louder")] == [
        pytest.approx(gain_db) for gain_db in (-15, -10, -5, 0, 5, 10)
    ]


@pytest.mark.parametrize("wrong", [{"rate_wpm": 99}, {"rate_wpm": 321}, {"volume": 101}])
def test_beyond_the_bounds_there_is_no_manner(wrong: dict[str, int]) -> None:
    with pytest.raises(ValidationError):
        VoiceSettings.model_validate(wrong)
