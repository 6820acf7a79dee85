"""Proofs on the graph of a procedure: each rule is broken once."""

from __future__ import annotations

import pytest

from handsfree.errors import ProcedureError
from handsfree.language.wording import languages
from handsfree.procedure.loader import faults_of, parse_procedure, shipped_procedures

SMALL = """\
name = "small"
title = "A small visit"

[[stage]]
id = "learn"
title = "learn cycle"

[[stage]]
id = "hand-over"
title = "hand over"

[[step]]
id = "swings"
stage = "learn"
prompt = "Does it swing?"
brief = "Swings?"
waits = "observation"
fact = "swings"
may_skip = false
why = "A leaf that binds is learned."

[[step]]
id = "learn"
stage = "learn"
prompt = "Learn."
brief = "Learn cycle."
caution = "Keep the path clear."
word = "clear"
waits = "done"
needs = ["swings"]
danger = "learn_cycle"
why = "It learns."

[[step]]
id = "learned"
stage = "learn"
prompt = "Did it learn?"
brief = "Learned?"
waits = "observation"
fact = "learned"
on = { not_ok = "learn-failed" }
at_most = 3
then = "hold"
why = "It may fail."

[[step]]
id = "mend"
stage = "learn"
branch = "learn-failed"
prompt = "Put it right."
brief = "Put right?"
waits = "done"
on = { done = "learn" }
why = "It has to learn again."

[[step]]
id = "lock"
stage = "learn"
prompt = "Lock the settings."
brief = "Locked?"
waits = "done"
needs = ["learned"]
danger = "settings_lock"
why = "They are kept."

[[step]]
id = "opened"
stage = "hand-over"
prompt = "Open the way."
brief = "Way open?"
waits = "done"
danger = "hand_over"
why = "It is given back."
"""


def line_of(text: str, part: str, after: str = "") -> int:
    return text[: text.index(part, text.index(after))].count("\n") + 1


def test_the_small_visit_has_no_fault() -> None:
    assert len(parse_procedure(SMALL, "small.toml", "0" * 64).steps) == 6


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", shipped_procedures())
def test_a_shipped_procedure_has_no_fault(language: str, name: str) -> None:
    assert faults_of(name, language) == ()


FAULTS = [
    # targets of answers
    ("{ not_ok =", "{ bad =", "on = { bad", "leads on from 'bad', which is no answer to it"),
    ('"learn-failed" }', '"learn-fail" }', "on = { not", "did you mean 'learn-failed'?"),
    ('done = "learn" }', 'done = "lern" }', "on = { done", "leads to 'lern', which is not there"),
    (
        'done = "learn" }',
        'done = "hold" }',
        "on = { done",
        "to a hold, which has nothing to decide",
    ),
    (
        'done = "learn" }',
        'done = "learn-failed" }',
        "on = { done",
        "leads to 'learn-failed', the branch that it stands in",
    ),
    ('not_ok = "learn-failed"', 'not_ok = "mend"', "on = { not", "leads into the branch"),
    ('branch = "learn-failed"', 'branch = "hold"', "branch =", "that is not a plain name"),
    # ends
    ("at_most = 3\n", "", "then =", "needs both at_most and then, or neither"),
    ("at_most = 3", "at_most = 0", "at_most", "has at_most below 1"),
    ('at_most = 3\nthen = "hold"\n', "", "on = { done", "leads back to 'learn' without a count"),
    ('then = "hold"', 'then = "swings"', "then =", "even after at_most, so nothing leads out"),
    (
        'then = "hold"',
        'then = "learn-failed"',
        "on = { done",
        "leads back to 'learn' without a count",
    ),
    (
        'on = { done = "learn" }',
        'may_skip = false\non = { done = "mend" }\nat_most = 3\nthen = "mend"',
        "on = { done",
        "never reaches the close-out",
    ),
    # unreachable steps
    (
        'on = { not_ok = "learn-failed" }\nat_most = 3\nthen = "hold"\n',
        "",
        "branch =",
        "stands in the branch 'learn-failed', which nothing leads to",
    ),
    (
        'fact = "swings"\n',
        'fact = "swings"\non = { ok = "opened", not_ok = "opened" }\n',
        'id = "learn"\nstage',
        "can never be reached",
    ),
    # gates
    (
        'needs = ["swings"]\n',
        "",
        "danger =",
        "is marked 'learn_cycle' and no gate stands before it",
    ),
    ('needs = ["learned"]\n', "", 'danger = "settings', "and no gate stands before it"),
    (
        'needs = ["learned"]',
        'needs = ["learn"]',
        'needs = ["learn"]',
        "without a check of the learn cycle",
    ),
    (
        'danger = "learn_cycle"\nwhy = "It learns."',
        'danger = "learn_cycle"\nmay_skip = false\nwhy = "It learns."',
        None,
        None,
    ),
    ('needs = ["swings"]', 'needs = ["swing"]', "needs =", "did you mean 'swings'?"),
    ('needs = ["swings"]', 'needs = ["mend"]', "needs =", "stands in the branch 'learn-failed'"),
    ('needs = ["swings"]', 'needs = ["learned"]', "needs =", "before 'learned' was asked"),
    (
        'fact = "swings"\n',
        'fact = "swings"\napplies = ["pair"]\n',
        "needs =",
        "which is not asked at every door where this step is",
    ),
    (
        'caution = "Keep the path clear."\nword = "clear"\n',
        "",
        "danger =",
        "is marked 'learn_cycle' and can be reached without a caution",
    ),
    (
        'stage = "hand-over"\nprompt',
        'stage = "learn"\nprompt',
        'danger = "hand',
        "outside the stage",
    ),
    ('danger = "hand_over"', 'danger = "hand_ower"', 'danger = "hand', "did you mean 'hand_over'?"),
    (
        'danger = "hand_over"',
        'danger = "people"',
        'danger = "people"',
        "is marked 'people' and can be reached without a caution",
    ),
]


@pytest.mark.parametrize(("old", "new", "at", "said"), FAULTS)
def test_a_broken_rule_is_named_with_its_line(
    old: str, new: str, at: str | None, said: str | None
) -> None:
    assert old in SMALL
    changed = SMALL.replace(old, new, 1)
    if said is None:
        assert len(parse_procedure(changed, "small.toml", "0" * 64).steps) == 6
        return
    with pytest.raises(ProcedureError) as caught:
        parse_procedure(changed, "small.toml", "0" * 64)
    assert at is not None
    assert said in str(caught.value), caught.value
    assert caught.value.line == line_of(changed, at, new if new and at in new else ""), caught.value


def test_a_caution_that_stands_apart_comes_again_each_time() -> None:
    """A caution of its own step, which the way back passes by."""
    apart = SMALL.replace(
        'caution = "Keep the path clear."\nword = "clear"\nwaits = "done"',
        'waits = "done"',
        1,
    ).replace(
        '[[step]]\nid = "learn"\n',
        '[[step]]\nid = "clear-path"\nstage = "learn"\nprompt = "Say clear."\nbrief = "Clear?"\n'
        'caution = "Keep the path clear."\nword = "clear"\nwaits = "caution"\nmay_skip = false\n'
        'why = "It moves."\n\n[[step]]\nid = "learn"\n',
        1,
    )
    with pytest.raises(ProcedureError, match="can be walked again without its caution"):
        parse_procedure(apart, "small.toml", "0" * 64)
    led_back = apart.replace('on = { done = "learn" }', 'on = { done = "clear-path" }', 1)
    assert len(parse_procedure(led_back, "small.toml", "0" * 64).steps) == 7


def test_branches_that_lead_to_each_other_are_refused() -> None:
    other = (
        '\n[[step]]\nid = "other"\nstage = "learn"\nbranch = "other-way"\nprompt = "Another way."\n'
        'brief = "Other?"\nwaits = "done"\non = { done = "learn-failed" }\nwhy = "It may help."\n'
    )
    text = SMALL.replace('on = { done = "learn" }', 'on = { done = "other-way" }', 1) + other
    with pytest.raises(ProcedureError, match="which leads to itself by another branch"):
        parse_procedure(text, "small.toml", "0" * 64)


def test_a_search_by_a_choice_needs_complaints() -> None:
    text = SMALL.replace('fact = "learned"\n', 'fact = "learned"\nsearch = "swings"\n', 1)
    with pytest.raises(ProcedureError, match="no complaint and no earlier choice"):
        parse_procedure(text, "small.toml", "0" * 64)
