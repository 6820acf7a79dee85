"""Wraps the tool's ears and sends lines with a leading period to the simulated door."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.recognition.cycle_run import CycleRun
from handsfree.recognition.port import EarEvent, Ears, Utterance
from handsfree.rehearsal.door_commands import MARK, DoorCommands


class DoorSideChannel:
    """Passes utterances on to the tool, and handles door commands itself."""

    def __init__(self, ears: Ears, bench: DoorCommands, show: Callable[[list[str]], None]) -> None:
        self._ears, self._bench, self._show = ears, bench, show
        self.can_time, self.reports_silence = ears.can_time, ears.reports_silence

    def listen(self) -> EarEvent | None:
        """Returns the next utterance to the tool."""
        while True:
            heard = self._ears.listen()
            if not isinstance(heard, Utterance) or not heard.text.startswith(MARK):
                return heard
            self._show(self._bench.command(heard.text))

    def time(self, expected: int, least_rms: float) -> CycleRun | None:
        """Runs a timed cycle with the wrapped ears."""
        return self._ears.time(expected, least_rms)
