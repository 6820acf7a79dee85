"""The headline: counts, failures first, unchecked items by name."""

from __future__ import annotations

from handsfree.checks.evaluate import judge
from handsfree.checks.headline import headline, tally
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.language.wording import wording

from .conftest import a_job, read

ENGLISH, SPANISH = wording(), wording("es")


def line(job, limits, w=ENGLISH, **told):
    return headline(w, tally(judge(job, limits), lambda found: found.rule, **told))


def good(job=None):
    job = read(job or a_job(), Quantity.LATCHING_TIME, "3")
    return read(job, Quantity.SIGN_HEIGHT, "50", subject=Subject.NEAR_SIDE)


def test_it_counts_what_passes_and_names_what_was_not_checked(a156):
    """Both sides of a range are one check; what was looked at counts as well."""
    assert line(good(), a156) == "2 of 2 checks pass."
    told = {"in_order": 20, "not_checked": ["fire release"]}
    assert line(good(), a156, **told) == "22 of 22 checks pass; not checked: fire release."
    assert line(good(), a156, SPANISH, **told) == (
        "22 de 22 comprobaciones pasan; sin comprobar: fire release."
    )


def test_what_does_not_pass_comes_first(a156):
    job = read(good(), Quantity.OPENING_TIME, "2.9")
    job = read(job, Quantity.HOLD_OPEN_TIME, "5.1")
    job = read(job, Quantity.PLATE_HEIGHT, "60", subject=Subject.LEFT_PLATE)
    assert line(job, a156, defects=["left leaf, hinges"]) == (
        "Not OK: opening time; opening energy; left leaf, hinges. Too close to call: hold "
        "open time. 2 of 6 checks pass. Not as recommended: plate height."
    )


def test_one_side_of_a_range_that_fails_fails_the_check(a156):
    job = read(a_job(), Quantity.SIGN_HEIGHT, "70", subject=Subject.NEAR_SIDE)
    assert line(job, a156) == "Not OK: sign height. 0 of 1 check passes."


def test_many_things_not_checked_are_named_in_part(a156):
    assert line(good(), a156, not_checked=list("abcdef")).endswith("not checked: a and 5 more.")


def test_nothing_judged_is_no_pass(a156):
    assert line(a_job(), a156) == "Nothing was judged."
