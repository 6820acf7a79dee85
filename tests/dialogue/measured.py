"""The results of a log, as the session passes them to the conversation."""

from __future__ import annotations

from decimal import Decimal

from handsfree.dialogue import state_machine
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal.motion_events import (
    LeafMeasured,
    MeasuredAngle,
    MeasuredSpeed,
    MeasuredTime,
)

from ..talk import Talk

TIMES = {
    Quantity.OPENING_TIME: "4.40",
    Quantity.TOTAL_OPENING_TIME: "6.10",
    Quantity.HOLD_OPEN_TIME: "6.50",
    Quantity.CLOSING_TIME: "4.70",
    Quantity.LATCHING_TIME: "2.10",
}


def shown(
    *,
    opening_deg_s: str = "20.00",
    log: str | None = "left.csv",
    opening_s: str = "4.40",
    total_s: str = "6.10",
    backcheck_deg: str | None = None,
) -> LeafMeasured:
    """One cycle of the left leaf; every time passes."""
    backcheck = backcheck_deg and MeasuredAngle(
        degrees=Decimal(backcheck_deg), uncertainty_deg=Decimal("0.75")
    )
    said = {Quantity.OPENING_TIME: opening_s, Quantity.TOTAL_OPENING_TIME: total_s}
    return LeafMeasured(
        leaf=Subject.LEFT_LEAF,
        log=log,
        log_sha256="6" * 64 if log else None,
        cycles=1,
        backcheck=backcheck or None,
        times=tuple(
            MeasuredTime(quantity=q, seconds=Decimal(s), uncertainty_s=Decimal("0.0060"))
            for q, s in {**TIMES, **said}.items()
        ),
        speeds=(
            MeasuredSpeed(
                travel="opening",
                deg_s=Decimal(opening_deg_s),
                at_deg=Decimal("26.4"),
                share=Decimal("0.0100"),
            ),
            MeasuredSpeed(
                travel="closing",
                deg_s=Decimal("18.11"),
                at_deg=Decimal("71.8"),
                share=Decimal("0.0100"),
            ),
        ),
    )


def reads(talk: Talk, measured: LeafMeasured) -> list[str]:
    """Delivers the results of a log; returns the tool's words."""
    return talk._take(state_machine.answer(talk.state, measured, talk.now_s))
