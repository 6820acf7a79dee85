"""Speaking rate and volume of the voice, and single steps of either."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from handsfree.job.record import Record
from handsfree.settings import (
    FASTEST_WPM,
    LOUDEST,
    SLOWEST_WPM,
    SOFTEST,
    USUAL_VOLUME,
    USUAL_WPM,
)

VoiceChange = Literal["slower", "faster", "louder", "softer"]

# A step is audible without listening for it: a seventh of the default rate, 5 dB.
_RATE_STEP_WPM = 25
_VOLUME_STEP = 20
_DB_A_POINT = 0.25


class VoiceSettings(Record):
    """Rate in words per minute and volume from 0 to 100; 60 is the voice's own level."""

    rate_wpm: int = Field(USUAL_WPM, ge=SLOWEST_WPM, le=FASTEST_WPM)
    volume: int = Field(USUAL_VOLUME, ge=SOFTEST, le=LOUDEST)

    @property
    def gain_db(self) -> float:
        """Gain applied to the voice's sound: -15 to 10 dB."""
        return (self.volume - USUAL_VOLUME) * _DB_A_POINT

    def changed(self, change: VoiceChange) -> VoiceSettings:
        """Returns the settings one step further, limited to their range."""
        rate_wpm, volume = self.rate_wpm, self.volume
        match change:
            case "slower":
                rate_wpm = max(SLOWEST_WPM, rate_wpm - _RATE_STEP_WPM)
            case "faster":
                rate_wpm = min(FASTEST_WPM, rate_wpm + _RATE_STEP_WPM)
            case "softer":
                volume = max(SOFTEST, volume - _VOLUME_STEP)
            case "louder":
                volume = min(LOUDEST, volume + _VOLUME_STEP)
        return VoiceSettings(rate_wpm=rate_wpm, volume=volume)
