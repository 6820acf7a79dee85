"""Speaks the verdicts of filed readings, with their names if there are several.

One word affirms all five times of a run. Five sentences *Pass.* would not say which time passes,
so the readings with the same verdict for the same reason share one sentence.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.checks.leaf_energy import RULES as ENERGY_RULES
from handsfree.dialogue import sentences
from handsfree.dialogue.sentences import ALL
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Binding, Finding, Verdict, ruling
from handsfree.job.reading import Reading
from handsfree.job.record import Record

_NAMELESS = (Verdict.PASS, Verdict.NOT_JUDGED)


class Filed(Record):
    """An accepted reading and the findings about it."""

    reading: Reading
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict | None:
        """The worst verdict of a requirement; None if no requirement applies."""
        return ruling(self.findings)

    @property
    def outcome(self) -> Verdict:
        """The verdict for its step; a reading without a requirement passes."""
        return self.verdict or Verdict.PASS

    @property
    def worth_saying(self) -> tuple[Finding, ...]:
        """Findings with the worst verdict (at most one pass), and violated recommendations."""
        required = [found for found in self.findings if found.binding is Binding.REQUIREMENT]
        ruled = [found for found in required if found.verdict is self.verdict]
        advised = [
            found
            for found in self.findings
            if found not in required and found.verdict is not Verdict.PASS
        ]
        if self.verdict is Verdict.PASS:
            # Prefers one with a note.
            ruled = sorted(ruled, key=lambda found: not found.note)[:1]
        elif self.verdict is Verdict.TOO_CLOSE:
            # The energy follows from its time: if both are too close to call, the time is enough.
            times = [found for found in ruled if found.rule not in ENERGY_RULES.values()]
            ruled = times or ruled
        return (*ruled, *advised)

    def updated_by(self, findings: Sequence[Finding]) -> Filed:
        """The same reading with the findings changed by a later reading."""
        mine = {found.rule: found for found in findings if found.reading_id == self.reading.id}
        kept = tuple(found for found in self.findings if found.rule not in mine)
        return self.model_copy(update={"findings": (*kept, *mine.values())})


def tell(turn: Turn, filed: Sequence[Filed]) -> None:
    """Speaks the verdicts of readings that were filed together, in their order."""
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
            which = ALL
        else:
            which = sentences.which(turn.words, readings)
        _tell(turn, found, which)


def _tell(turn: Turn, found: Finding | None, which: str) -> None:
    """Speaks one sentence; only passes and missing verdicts need the name of the reading."""
    if found is None:
        if which == ALL:
            turn.tell("filed_all", "finding")
        else:
            turn.tell("filed_of" if which else "filed", "finding", which=which)
    elif found.binding is Binding.REQUIREMENT and found.verdict in _NAMELESS:
        turn.tell_finding(found, which=which)
    else:
        turn.tell_finding(found)
