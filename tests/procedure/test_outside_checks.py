"""The shipped procedures against rules from outside: lock-out, proof, and daily checks.

Lock-out: OSHA, 29 CFR 1910.147, a public federal rule (paragraphs from memory, the text was not
seen here): the order of (d)(1) to (d)(6), and of its release (e)(1) to (e)(3); (a)(2)(iii)(A), a
plug in the exclusive control of who works. Prove, test, prove: NFPA 70E (memory). Daily checks:
common practice of owners and service companies, no published source.
"""

from __future__ import annotations

import re
from itertools import product

import pytest

from handsfree.job.feature_values import with_opening_feature
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Swing
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.procedure.step import Task
from handsfree.procedure.task_selection import tasks

from ..dialogue.technician import opening

# In the words of each language: what a prompt has to say at each point of the rule.
LOCK_OUT = {
    "en": [
        ("people are told and kept away, (c)(9), (d)(1)", r"close off the opening to people"),
        ("shut down, (d)(2)", r"turn the operator off"),
        ("isolated, (d)(3)", r"switch the power off at the breaker"),
        ("locked, (d)(4)", r"lock it"),
        ("the tester is proved", r"prove the tester on a live source"),
        ("verified, (d)(6)", r"test the supply wires dead"),
        ("the tester is proved again", r"prove the tester again"),
    ],
    "es": [
        ("people are told and kept away, (c)(9), (d)(1)", r"cierre el paso"),
        ("shut down, (d)(2)", r"apague el operador"),
        ("isolated, (d)(3)", r"corte la energía en el interruptor del tablero"),
        ("locked, (d)(4)", r"póngale su candado"),
        ("the tester is proved", r"pruebe el probador en una fuente con voltaje"),
        ("verified, (d)(6)", r"compruebe que los cables de alimentación no tienen voltaje"),
        ("the tester is proved again", r"pruebe el probador otra vez"),
    ],
}
RELEASE = {
    "en": [
        ("the operator stays off", r"operator switch to off"),
        ("your own lock, (e)(3)", r"take off your lock"),
        ("energized last", r"switch the power on"),
    ],
    "es": [
        ("the operator stays off", r"interruptor del operador en apagado"),
        ("your own lock, (e)(3)", r"quite su candado"),
        ("energized last", r"conecte la energía"),
    ],
}
WIRED = [name for name in shipped_procedures() if name not in ("daily-check", "complaint")]
LANGUAGES = ("en", "es")


def walk_of(procedure: str, language: str, **features: str) -> tuple[Task, ...]:
    door = opening(Swing.SAME_WAY, everything=True)
    for name, value in features.items():
        door = with_opening_feature(door, name, value)
    sheet = Sheet(reference="T", site="a test", technician="x", opening=door, language=language)
    return tasks(load_procedure(procedure, language=language), Job.open(sheet))


def places(walk: tuple[Task, ...], rule: list[tuple[str, str]]) -> list[tuple[int, int]]:
    """Where each point of a rule is said first: the task, and the letter in its prompt."""
    found = []
    for point, pattern in rule:
        at = next(
            (
                (nth, said.start())
                for nth, task in enumerate(walk)
                if (said := re.search(pattern, task.prompt, re.IGNORECASE))
            ),
            None,
        )
        assert at is not None, point
        found.append(at)
    return found


@pytest.mark.parametrize(("procedure", "language"), list(product(WIRED, LANGUAGES)))
def test_lock_out_has_the_order_of_the_rule(procedure, language):
    walk = walk_of(procedure, language)
    off, on = places(walk, LOCK_OUT[language]), places(walk, RELEASE[language])
    assert off == sorted(off)
    if procedure != "yearly-service":
        assert on == sorted(on) and off[-1] < on[0]


@pytest.mark.parametrize(("procedure", "language"), list(product(WIRED, LANGUAGES)))
def test_nothing_of_it_is_skipped_and_hands_are_kept_off_until_it_is_dead(procedure, language):
    walk = walk_of(procedure, language)
    guarded = [task for task in walk if task.step.stage == "power-off"]
    assert guarded and not any(task.step.may_skip for task in guarded)
    assert guarded[-1].step.id == "proven-dead" and guarded[-1].step.word == "clear"


@pytest.mark.parametrize(("procedure", "language"), list(product(WIRED, LANGUAGES)))
def test_other_energy_is_gone_before_the_proof(procedure, language):
    """(d)(5) comes between the lock and the verification; a plug is kept in one's own hand."""
    walk = walk_of(procedure, language, battery_backup="yes", power_supply="plug")
    ids = [task.step.id for task in walk]
    lock, plug, battery, dead = (
        ids.index(each) for each in ("power-off", "plug-in-hand", "battery-off", "proven-dead")
    )
    assert lock < plug < battery < dead
    plain = {task.step.id for task in walk_of(procedure, language, battery_backup="no")}
    assert not plain & {"plug-in-hand", "battery-off"}


# What owners and service companies look at each day: common practice, no published source.
DAILY = {
    "way-clear",
    "signs-there",
    "nothing-broken",
    "plates-whole",
    "plate-works",
    "opens-gently",
    "time-to-pass",
    "closes-gently",
}
WHERE_IT_HAS = {
    "sensors-clean": ("sensors", "yes"),
    "rails-firm": ("guide_rails", "yes"),
    "latch-holds": ("lock", "latch"),
    "fire-door-shut": ("fire_rated", "yes"),
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_daily_walk_looks_at_what_this_door_has(language):
    bare = {
        task.step.id
        for task in walk_of("daily-check", language, sensors="no", guide_rails="no",
                            lock="none", fire_rated="no")
    }  # fmt: skip
    assert bare >= DAILY and not bare & WHERE_IT_HAS.keys()
    for step, (feature, value) in WHERE_IT_HAS.items():
        assert step in {t.step.id for t in walk_of("daily-check", language, **{feature: value})}
