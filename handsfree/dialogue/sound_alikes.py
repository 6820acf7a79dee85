"""Finds other readings that an utterance may have been, if they would matter.

Recognition takes the likeliest sentence of the whole grammar. The same sound is then compared with
the readings of the quantity alone, each with its cost. Only those that would change the next
question are kept: a usual value instead of an unusual one; a value that is nearly as likely, such
as 'fifty' for 'fifteen'; a unit that may have been said with a bare number.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from handsfree.dialogue.answer_set import ExpectedReading
from handsfree.dialogue.expected_answers import expected_reading
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.state import State
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.unit import Family, Measure
from handsfree.language.meaning import Meaning, ReadingSaid

# Nats above the cost of the recognized reading, chosen on natural voices that no benchmark uses
# (docs/speech-model.md).
USUAL_NATS = 8.0
"""Limit for a usual value instead of an unusual one (nats)."""
ALIKE_NATS = 3.0
"""Limit for a value that differs by one word of similar sound (nats)."""
OTHER_NATS = 1.0
"""Limit for any other value or unit, and for the quantity that the step asks for (nats)."""
UNIT_NATS = 8.0
"""Limit for the same value with a unit, where no unit was recognized (nats)."""
_NEVER = -math.inf
_OF_SEVERAL_UNITS = (Family.FORCE, Family.LENGTH, Family.MASS)
_MOST = 3

Weighed = tuple[str, float]
"""Words that a sound may have been, and their cost (nats); lower is likelier."""


def quantities_to_compare(
    state: State, said: Meaning | None, rival: Rival | None
) -> tuple[Quantity, ...]:
    """The quantities whose readings the sound is compared with; () for no comparison.

    The comparison takes time, so it is made only if the value is unusual, one of its words sounds
    like another, or the unit was omitted and is ambiguous. It is never made for several readings at
    once, or for an answer to a question about another reading. The quantities are the recognized
    one and the one that the step asks for: 'opening four' may be 'opening force'.
    """
    if not isinstance(said, ReadingSaid) or _answers_question(state):
        return ()
    if state.progress.closed or state.progress.standing_by is not None:
        return ()
    waited = state.task.step.quantity if state.task is not None else None
    quantity = said.quantity or waited
    if quantity is None or said.open_time:
        return ()
    if state.doubted == expected_reading(state, quantity).measure(said):
        return ()  # a value said a second time is meant
    usual = expected_reading(state, quantity).is_usual(said)
    unit_open = said.unit is None and QUANTITIES[quantity].family in _OF_SEVERAL_UNITS
    if usual and rival is None and not unit_open and waited in (quantity, None):
        return ()
    return tuple(dict.fromkeys((quantity, waited or quantity)))


def may_be(
    state: State,
    said: ReadingSaid,
    rival: Rival | None,
    weighed: Sequence[Weighed],
    parse: Callable[[str], Meaning | None],
) -> tuple[str, ...]:
    """The words that would change the next question, the likeliest first.

    ``weighed`` are the words that the sound may have been, for each of the quantities to compare.
    """
    quantities = quantities_to_compare(state, said, rival)
    if not quantities:
        return ()
    asked = expected_reading(state, quantities[0])
    found: list[tuple[float, str, ReadingSaid]] = []
    for text, cost in sorted(weighed, key=lambda one: one[1]):
        other = parse(text)
        if isinstance(other, ReadingSaid) and other.subject in (None, said.subject):
            found.append((cost, text, other))
    same = [cost for cost, _, other in found if _alike(other, said)]
    heard_at = min(same or [cost for cost, _, _ in found], default=0.0)
    kept: dict[tuple[Quantity, Measure], str] = {}
    for cost, text, other in found:
        reading = expected_reading(state, other.quantity or quantities[-1])
        if reading.quantity not in quantities or not reading.is_usual(other):
            continue
        if said.quantity is not None and other.quantity is None:
            continue  # a name that was recognized cannot turn into a bare number
        if cost - heard_at <= _most_nats(asked, said, reading.quantity, other, rival):
            kept.setdefault((reading.quantity, reading.measure(other)), text)
    return tuple(kept.values())[:_MOST]


def _answers_question(state: State) -> bool:
    """True if a number said now would answer a question about another reading, or be a note."""
    question = state.pending
    return question is not None and (
        question.takes_number or question.completes_reading or question.free_words
    )


def _alike(one: ReadingSaid, other: ReadingSaid) -> bool:
    return (one.value, one.unit) == (other.value, other.unit)


def _most_nats(
    asked: ExpectedReading,
    said: ReadingSaid,
    quantity: Quantity,
    other: ReadingSaid,
    rival: Rival | None,
) -> float:
    """Largest extra cost at which another reading still matters (nats)."""
    heard, instead = asked.measure(said), asked.measure(other)
    if not asked.is_usual(said):
        return USUAL_NATS
    if quantity is not asked.quantity:
        return OTHER_NATS
    if heard.value == instead.value and heard.unit is not instead.unit:
        return UNIT_NATS if said.unit is None else OTHER_NATS
    if heard.value == instead.value or heard.unit is not instead.unit:
        return _NEVER
    return ALIKE_NATS if rival is not None and other.value == rival.value else OTHER_NATS
