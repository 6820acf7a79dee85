"""What is said of readings that were filed: a verdict, with their names where they are several.

Five times of one run are affirmed with one word. Five times *Pass.* would not say of which, so
there the readings with the same verdict for the same reason share one sentence.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.checks.leaf_energy import RULES as ENERGY_RULES
from handsfree.dialogue import sentences
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Binding, Finding, Verdict, ruling
from handsfree.job.reading import Reading
from handsfree.job.record import Record

_NAMELESS = (Verdict.PASS, Verdict.NOT_JUDGED)


class Filed(Record):
    """A reading that was accepted, and the findings about it alone."""

    reading: Reading
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict | None:
        """The verdict that rules; None where no requirement is about it."""
        return ruling(self.findings)

    @property
    def outcome(self) -> Verdict:
        """The verdict for its step: what no requirement is about passes."""
        return self.verdict or Verdict.PASS

    @property
    def worth_saying(self) -> tuple[Finding, ...]:
        """Those with the ruling verdict, a pass once, and recommendations that are not kept."""
        required = [found for found in self.findings if found.binding is Binding.REQUIREMENT]
        ruled = [found for found in required if found.verdict is self.verdict]
        advised = [
            found
            for found in self.findings
            if found not in required and found.verdict is not Verdict.PASS
        ]
        if self.verdict is Verdict.PASS:
            # The one that has more to it, where there is one.
            ruled = sorted(ruled, key=lambda found: not found.note)[:1]
        elif self.verdict is Verdict.TOO_CLOSE:
            # The energy goes with its time: where both are too close, the time says it.
            times = [found for found in ruled if found.rule not in ENERGY_RULES.values()]
            ruled = times or ruled
        return (*ruled, *advised)

    def judged_anew(self, findings: Sequence[Finding]) -> Filed:
        """With what a reading filed after it changed about it."""
        mine = {found.rule: found for found in findings if found.reading_id == self.reading.id}
        kept = tuple(found for found in self.findings if found.rule not in mine)
        return self.model_copy(update={"findings": (*kept, *mine.values())})


def tell(turn: Turn, filed: Sequence[Filed]) -> None:
    """Says the verdicts of readings that were filed together, in their order."""
    alike: dict[str, list[tuple[Reading, Finding | None]]] = {}
    for each in filed:
        for found in each.worth_saying or (None,):
            text = sentences.verdict(turn.words, found) if found else turn.words.say("filed")
            alike.setdefault(text, []).append((each.reading, found))
    for group in alike.values():
        readings = list(dict.fromkeys(reading for reading, _ in group))
        found = group[0][1]
        if len(filed) == 1:
            which = ""
        elif len(readings) == len(filed):
            which = turn.words.say("all_of_them")
        else:
            which = sentences.which(turn.words, readings)
        _tell(turn, found, which)


def _tell(turn: Turn, found: Finding | None, which: str) -> None:
    """One sentence; what fails, is too close or is recommended names its reading already."""
    if found is None:
        turn.tell("filed_of" if which else "filed", "finding", which=which)
    elif found.binding is Binding.REQUIREMENT and found.verdict in _NAMELESS:
        turn.tell_finding(found, which=which)
    else:
        turn.tell_finding(found)
