"""The tool's ears with a simulated door beside them: a line with a full stop is for the door."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.recognition.cycle_listener import Run
from handsfree.recognition.ears import Ears, Heard, Utterance
from handsfree.rehearsal.door_commands import MARK, Workbench


class BesideTheDoor:
    """Passes on everything that is said to the tool, and nothing that is done at the door."""

    def __init__(self, ears: Ears, bench: Workbench, show: Callable[[list[str]], None]) -> None:
        self._ears, self._bench, self._show = ears, bench, show
        self.can_time, self.tells_quiet = ears.can_time, ears.tells_quiet

    def listen(self) -> Heard | None:
        """The next thing that is said to the tool."""
        while True:
            heard = self._ears.listen()
            if not isinstance(heard, Utterance) or not heard.text.startswith(MARK):
                return heard
            self._show(self._bench.command(heard.text))

    def time(self, expected: int, least_rms: float) -> Run:
        """A run of the clock, as the ears hear it."""
        return self._ears.time(expected, least_rms)
