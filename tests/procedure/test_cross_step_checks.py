"""Faults between two steps of one procedure."""

from __future__ import annotations

import pytest

from handsfree.errors import ProcedureError
from handsfree.procedure.loader import parse_procedure

SMALL = """\
name = "small"
title = "A small visit"

[[stage]]
id = "complaint"
title = "complaint"

[[stage]]
id = "search"
title = "search"

[[step]]
id = "complaint"
stage = "complaint"
prompt = "What is the complaint?"
brief = "Complaint?"
waits = "choice"
fact = "complaint"
options = [{ value = "slams", say = "it slams" }, { value = "stays_open", say = "stays open" }]
why = "It tells where to look."

[[step]]
id = "spring"
stage = "search"
applies = ["complaint is slams"]
prompt = "Look at the spring."
brief = "Spring?"
waits = "observation"
fact = "spring"
why = "A weak spring slams."

[[step]]
id = "mat"
stage = "search"
applies = ["complaint is stays_open", "not spring is in_order"]
prompt = "Look for a mat."
brief = "Mat?"
waits = "observation"
fact = "mat"
why = "A mat holds the leaf."
"""


def test_steps_that_follow_from_what_was_found() -> None:
    steps = parse_procedure(SMALL, "small.toml", "0" * 64).steps
    assert [step.id for step in steps] == ["complaint", "spring", "mat"]


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("is slams", "is slam", 25, "which is not one of its answers (did you mean 'slams'?)"),
        ("complaint is stays", "complain is stays", 35, "did you mean 'complaint'?"),
        ("is stays_open", "are stays_open", 35, "unknown condition 'complaint are stays_open'"),
        ("spring is in_order", "mat is in_order", 35, "depends on 'mat', which no earlier step"),
        ("is stays_open", "is slams", 35, None),
        (
            '"not spring is in_order"',
            '"complaint is slams"',
            35,
            "'complaint is stays_open' and 'complaint is slams' are never true together",
        ),
        ('brief = "Mat?"', 'brief = "complaint?"', 37, "has the brief prompt of step 'complaint'"),
        (
            'fact = "mat"',
            'fact = "complaint"',
            39,
            "files its answer as 'complaint', as step 'complaint' does (small.toml, line 13)",
        ),
        ('brief = "Mat?"', 'brief = "Spring?"', 37, None),
        ('fact = "mat"', 'fact = "spring"', 39, None),
    ],
)
def test_a_fault_between_steps_is_named(old: str, new: str, line: int, said: str | None) -> None:
    assert old in SMALL
    changed = SMALL.replace(old, new, 1)
    if said is None:
        # The two complaints exclude each other, so their steps may be alike.
        assert len(parse_procedure(changed, "small.toml", "0" * 64).steps) == 3
        return
    with pytest.raises(ProcedureError) as caught:
        parse_procedure(changed, "small.toml", "0" * 64)
    assert (caught.value.line, said in str(caught.value)) == (line, True), caught.value
