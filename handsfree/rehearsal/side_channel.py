"""The tool's ears next to a simulated door: a line with a leading period goes to the door."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.recognition.cycle_listener import Run
from handsfree.recognition.ears import Ears, Heard, Utterance
from handsfree.rehearsal.door_commands import MARK, Workbench


class BesideTheDoor:
    """Passes on what is said to the tool and handles door commands itself."""

    def __init__(self, ears: Ears, bench: Workbench, show: Callable[[list[str]], None]) -> None:
        self._ears, self._bench, self._show = ears, bench, show
        self.can_time, self.tells_quiet = ears.can_time, ears.tells_quiet

    def listen(self) -> Heard | None:
        """Returns the next utterance to the tool."""
        while True:
            heard = self._ears.listen()
            if not isinstance(heard, Utterance) or not heard.text.startswith(MARK):
                return heard
            self._show(self._bench.command(heard.text))

    def time(self, expected: int, least_rms: float) -> Run:
        """Runs a timed cycle with the wrapped ears."""
        return self._ears.time(expected, least_rms)
