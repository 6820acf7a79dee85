"""The reminders for a door; none of them is a verdict."""

from __future__ import annotations

import pytest

from handsfree.checks.reminders import reminders
from handsfree.job.opening import Activation

from .conftest import a_job, a_pair, with_opening

FIRE = {"fire closing", "fire alarm"}
CONTROL = {"reach", "operating the control", "floor before the control", "place of the plate"}


def names(job, limits):
    return {reminder.name for reminder in reminders(job, limits)}


@pytest.mark.parametrize(
    ("job", "wanted", "unwanted"),
    [
        (a_job(), CONTROL, FIRE | {"closing order"}),
        (with_opening(a_job(), fire_rated=True), FIRE, {"closing order"}),
        (a_pair(), {"closing order"}, FIRE),
        (with_opening(a_job(), activation=Activation.MANUAL_START), {"who decides"}, CONTROL),
        (with_opening(a_job(), activation=Activation.CARD_READER), CONTROL, {"doors in series"}),
        (with_opening(a_job(), vestibule=True), {"doors in series"}, FIRE),
    ],
)
def test_a_door_is_reminded_of_what_concerns_it(a156, job, wanted, unwanted):
    found = names(job, a156)
    assert wanted <= found and not unwanted & found
    assert {"who decides", "egress", "threshold", "caution sign"} <= found


@pytest.mark.parametrize(
    ("name", "clause", "words"),
    # Values and clauses as handed down (seen).
    [
        ("threshold", "404.2.5", "1/2 in (13 mm)"),
        ("egress", "404.3.6", "32 in"),
        ("floor before the control", "404.3.5", "beyond the arc"),
        ("reach", "308", "15 to 48 in (380 to 1220 mm)"),
        ("operating the control", "309.4", "5 lbf (22.2 N)"),
        ("plate height of the place", "not noted", "30 to 44 in"),
    ],
)
def test_what_access_rules_ask_for(a156, name, clause, words):
    (found,) = [reminder for reminder in a156.reminder if reminder.name == name]
    assert (found.clause, found.status) == (clause, "seen")
    assert words in found.text


@pytest.mark.parametrize("limits", ["a156", "en16005"])
def test_every_set_defers_to_whoever_decides_here(limits, request):
    first = reminders(a_job(), request.getfixturevalue(limits))[0]
    assert first.name == "who decides" and "authority" in first.text
