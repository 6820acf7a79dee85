"""The limit of a quantity as one spoken sentence."""

from __future__ import annotations

from handsfree.checks.bound import Missing, bounds
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.spoken import figure, unit_name
from handsfree.job.finding import Binding
from handsfree.job.job import Job
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject


def limit_for(job: Job, limits: LimitSet, quantity: Quantity, subject: Subject) -> str | None:
    """'The opening time of the left leaf must be at least 3.5 seconds ...', or None."""
    about = f"the {QUANTITIES[quantity].spoken} of the {subject}"
    parts = []
    for held in bounds(job, limits, quantity, subject):
        if isinstance(held, Missing):
            parts.append(f"The limit for {about} is not known yet, {held.why}.")
        else:
            value = f"{held.bound} {figure(held.value)} {unit_name(held.unit)}"
            because = f" {held.because}" if held.because else ""
            must = "must" if held.binding is Binding.REQUIREMENT else "should"
            parts.append(f"T{about[1:]} {must} be {value}{because}.")
    return " ".join(parts) or None
