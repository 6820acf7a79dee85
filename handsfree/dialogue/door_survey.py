"""Surveys the door: the features that a visit still has to ask for, and their effects."""

from __future__ import annotations

from handsfree.checks.leaf_weight import weight_of
from handsfree.checks.scope import out_of_scope
from handsfree.dialogue.turn import Turn
from handsfree.job.door_feature import FEATURES
from handsfree.job.job import Fact, Job, leaf_side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.tape_words import whole_weight
from handsfree.language.wording import sentence
from handsfree.procedure.condition import feature_of, holds
from handsfree.procedure.step import Procedure


def features_that_matter(procedure: Procedure) -> frozenset[str]:
    """The features of the opening that every visit, or a step of this procedure, depends on.

    Details of such a feature (where its sensors are) are included.
    """
    conditions = {condition for step in procedure.steps for condition in step.applies}
    named = {name for condition in conditions if (name := feature_of(condition)) is not None}
    return frozenset(
        name
        for name, each in FEATURES.items()
        if each.of == "opening" and (each.always or name in named or each.when in named)
    )


def first_missing(procedure: Procedure, job: Job) -> str | None:
    """The first feature that a visit still has to ask for, or None."""
    if not job.opening.not_known:
        return None
    wanted = features_that_matter(procedure)
    for name, feature in FEATURES.items():
        if name not in wanted or name not in job.opening.not_known:
            continue
        if feature.when is None or holds(feature.when, job):
            return name
    return None


def tell_changes(turn: Turn, before: Job, steps_before: int) -> None:
    """Says how a new fact about the door changes the steps, and whether the limits cover the
    door.
    """
    why = out_of_scope(turn.job.opening)
    if why is not None and why != out_of_scope(before.opening):
        turn.say(sentence(turn.words.say(why)), "warning")
    more = len(turn.state.tasks) - steps_before
    if more and turn.state.progress.at is not None:
        turn.tell("steps_more" if more > 0 else "steps_fewer", "answer", count=abs(more))


def tell_weight(turn: Turn, fact: Fact) -> bool:
    """Says the weight of a leaf estimated from its construction, with its uncertainty.

    If the current task asks for that weight, files the estimate and returns True: the task is over.
    A weight that was read is kept.
    """
    side = leaf_side(fact.subject)
    leaf = turn.job.opening.leaf(side) if side is not None else None
    if leaf is None or fact.name != "leaf_construction" or leaf.weight is not None:
        return False
    w, weight = turn.words, weight_of(leaf)
    if weight is None or weight.nominal is None or weight.lightest is None:
        turn.tell("weight_needs_size", "answer", leaf=w.the(fact.subject))
        return False
    sizes = (weight.nominal, weight.lightest, weight.used)
    nominal, low, heavy = (whole_weight(w, each) for each in sizes)
    about = w.subject(fact.subject).capitalize()
    turn.tell("weight_worked_out", "answer", leaf=about, nominal=nominal, low=low, high=heavy,
              heavy=heavy)  # fmt: skip
    task = turn.task
    if task is None or turn.between or task.subject is not fact.subject:
        return False
    if task.step.quantity is not Quantity.LEAF_WEIGHT:
        return False
    _file_estimate(turn, fact.subject)
    return True


def _file_estimate(turn: Turn, leaf: Subject) -> None:
    turn.keep(ev.FactAccepted(fact=Fact(subject=leaf, name="weight_source", value="estimate")))
    for task in turn.state.tasks:
        if task.subject is leaf and task.step.fact == "weight_source":
            turn.keep(ev.StepEnded(key=task.key, outcome="done"))
