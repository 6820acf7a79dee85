"""The limit of a quantity as one spoken sentence."""

from __future__ import annotations

from handsfree.checks.applicable_limits import UnknownLimit, applicable_limits
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.number_format import measured
from handsfree.checks.scope import out_of_scope
from handsfree.job.finding import Binding
from handsfree.job.job import Job
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.language.wording import sentence, wording


def limit_for(job: Job, limits: LimitSet, quantity: Quantity, subject: Subject) -> str | None:
    """The limit in words: 'The opening time of the left leaf must be at least 3.5 seconds'.

    None if the set has no limit for it.
    """
    w = wording(job.sheet.language)
    if (why := out_of_scope(job.opening)) is not None:
        return sentence(w.say(why))
    what, of_whom = w.quantity(quantity), w.of(subject)
    parts = []
    for held in applicable_limits(job, limits, quantity, subject):
        if isinstance(held, UnknownLimit):
            parts.append(w.say("limit_unknown", quantity=what, of_subject=of_whom, why=held.why))
        else:
            parts.append(
                w.say(
                    "limit_must" if held.binding is Binding.REQUIREMENT else "limit_should",
                    bound=w.say(held.bound.replace(" ", "_")),
                    limit=measured(w, held.value, held.unit),
                    quantity=what,
                    of_subject=of_whom,
                    because=f" {held.because}" if held.because else "",
                )
            )
    return " ".join(parts) or None
