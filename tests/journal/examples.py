"""A short visit's events."""

from __future__ import annotations

from datetime import UTC, datetime

from handsfree.job.job import Fact, Sheet
from handsfree.job.opening import Leaf, Motor, Opening, Side, Swing
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Unit
from handsfree.journal import events as ev

AT = datetime(2026, 3, 4, 9, 15, 2, 120000, tzinfo=UTC)
SHEET = Sheet(
    reference="T-1",
    site="a test",
    technician="nobody",
    opening=Opening(
        name="single",
        seen_from="corridor",
        swing=Swing.SINGLE,
        leaves=(Leaf(name=Side.LEFT),),
        motors=(Motor(number=1),),
    ),
)
OPENED = ev.VisitOpened(
    sheet=SHEET,
    procedure="small",
    procedure_sha256="1" * 64,
    limits="a156.19",
    limits_sha256="2" * 64,
    model="test",
    version="0",
    ears="typed",
    mouth="none",
)
READING = Reading(
    id="r1",
    quantity=Quantity.OPENING_TIME,
    subject=Subject.LEFT_LEAF,
    value="6.20",
    unit=Unit.SECOND,
    taken=Taken.SAID,
)
FACT = Fact(subject=Subject.MOTOR_ONE, name="hand", value="left")
BODIES: tuple[ev.Body, ...] = (
    OPENED,
    ev.StepEntered(key="opening-time:left leaf"),
    ev.Said(text="Zeit, à gauche?", role="prompt", aloud=True, seconds="1.25"),
    ev.ReadingAccepted(reading=READING),
    ev.FactAccepted(fact=FACT),
)
