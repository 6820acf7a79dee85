"""Orders the readings for the office to listen to, and selects those to confirm one by one.

The score is not a probability, it only gives an order: a reading comes first if a small mishearing
or a little doubt would change its verdict, if it was hard to hear, or if it differs from its own
runs. Each reason gives a share between 0 and 1, and the shares combine like independent ones: 1 -
(1 - a)(1 - b)..., so that two reasons outweigh one and the result never exceeds 1.

A reading is confirmed individually if it was hard to hear, differs from its runs, fails, is too
close to call, or is near a limit. Acceptance without 'affirm' alone is not enough for that; it only
puts the reading before equally doubtful ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal, NamedTuple

from handsfree.checks.leaf_energy import CONTRADICTION
from handsfree.job.closed_lists import Accepted
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.quantity import QUANTITIES, SETTINGS
from handsfree.job.reading import Reading
from handsfree.job.unit import Unit, convert, family_of
from handsfree.visit_record.reading_story import ReviewScore

_SUPERSEDED = 0.3
"""Weight of a superseded attempt, which no longer decides the verdict."""
_ADVISED = 0.5
"""Weight of a recommendation: it decides no verdict, so nearness to it counts half."""
_AGAIN = 0.25
"""Share for each utterance refused or not understood on the way to the reading."""
_APART = 0.3
"""Share for runs of one attempt that differ by more than a tenth of their mean."""
_TWO_HEARD = 0.25
"""Share if two recognizers heard different values."""
_ONE_HEARD = 0.2
"""Share if the second recognizer heard no value."""
_NOISE = 0.2
"""Share if the visit asked for 'affirm' at every value because of noise."""
_UNSURE = 0.2
"""Share if other readings sounded alike, or only the second pass understood the words."""
_TAKEN_BACK = 0.25
"""Share if a reading of the same quantity was taken back in the visit."""
_NEAR = 0.4
"""Value of the nearness to a limit from which a pass counts as near: one and a half guard bands."""
_WITHOUT_WORD = 0.1
"""Share for a value that was only said back with the next prompt: it precedes values that are
otherwise equally doubtful.
"""
_SELDOM_SO = 0.15
"""Share for a value in the outer twentieth of its plausible range."""


class Hearing(NamedTuple):
    """Circumstances in which a reading was heard.

    ``again`` counts the utterances refused or not understood between the prompt and the acceptance,
    ``how`` is the kind of acceptance. ``unsure`` is true if other readings sounded alike or only
    the second pass understood the words, ``taken_back`` if one of the same quantity had been
    withdrawn before. ``second`` is the second ear's result, None without one.
    """

    again: int = 0
    how: Accepted = "explicit"
    noisy: bool = False
    unsure: bool = False
    taken_back: bool = False
    second: Literal["agreed", "differed", "unclear"] | None = None


class Attempt(NamedTuple):
    """The runs of one attempt combined: lowest, highest and mean value, all in ``unit``.

    ``fits`` is true if every run has a unit of the quantity; otherwise the values are 0.
    """

    fits: bool
    unit: Unit
    runs: int
    lowest: Decimal
    highest: Decimal
    mean: Decimal


def attempt_of(runs: Sequence[Reading]) -> Attempt:
    """Summarizes the runs of one attempt (at least one)."""
    unit, family = runs[-1].unit, QUANTITIES[runs[-1].quantity].family
    zero = Decimal(0)
    if any(family_of(run.unit) is not family for run in runs):
        return Attempt(False, unit, len(runs), zero, zero, zero)
    values = [convert(run.value, run.unit, unit) for run in runs]
    mean = sum(values, zero) / len(values)
    return Attempt(True, unit, len(runs), min(values), max(values), mean)


def review_score(
    now: Reading,
    findings: Sequence[Finding],
    attempt: Attempt,
    hearing: Hearing,
    *,
    superseded: bool = False,
) -> ReviewScore:
    """The doubt about a reading's current value.

    ``findings`` are those on its ``attempt``; ``superseded`` is true if a later attempt decides. A
    value in a unit of another family gets the full doubt of 1.
    """
    if not attempt.fits:
        unit = "its unit does not fit what was measured"
        return ReviewScore(score=1.0, why=(unit,), alone=True)
    shares = _heard(hearing, differed=now.second_ear == "chosen")
    weight = _SUPERSEDED if superseded else 1.0
    near = max((_near(f, weight) for f in findings), default=(0.0, ""), key=lambda each: each[0])
    if (apart := _apart(now, attempt)) is not None:
        shares.append((_APART, f"differs from its other runs by up to {apart}"))
    if _seldom(now):
        shares.append((_SELDOM_SO, "seldom so large or so small"))
    alone = bool(shares) or any(map(_wrong, findings)) or near[0] >= _NEAR * weight
    if near[0] > 0:
        shares.append(near)
    if hearing.how == "implicit":
        shares.append((_WITHOUT_WORD, "said back, and not affirmed by a word of its own"))
    trusted = 1.0
    for share, _ in shares:
        trusted *= 1 - share
    shares.sort(key=lambda each: -each[0])
    why = tuple(why for _, why in shares)
    return ReviewScore(score=round(1 - trusted, 4), why=why, alone=alone)


def _heard(hearing: Hearing, *, differed: bool) -> list[tuple[float, str]]:
    """The shares for difficulties in hearing a reading."""
    times = "once" if hearing.again == 1 else f"{hearing.again} times"
    told = {
        f"not understood or refused {times} before": 1 - (1 - _AGAIN) ** hearing.again,
        "one of its kind was taken back before": _TAKEN_BACK * hearing.taken_back,
        "the two ears heard different values": _TWO_HEARD
        * (differed or hearing.second == "differed"),
        "the second ear heard no value": _ONE_HEARD * (hearing.second == "unclear"),
        "it was noisy": _NOISE * hearing.noisy,
        "other values sound alike": _UNSURE * hearing.unsure,
    }
    return [(share, why) for why, share in told.items() if share]


def _wrong(found: Finding) -> bool:
    """True if a finding needs attention whatever its verdict: a run fails, or readings contradict
    each other.
    """
    fails = found.verdict in (Verdict.FAIL, Verdict.TOO_CLOSE)
    return fails or bool(found.note) or found.rule == CONTRADICTION


def _near(found: Finding, weight: float) -> tuple[float, str]:
    """The share for a finding near its limit: its guard band relative to its distance from the
    limit.
    """
    if found.limit is None or found.reading is None or not found.guard_band:
        return 0.0, ""
    band, distance = float(found.guard_band), abs(float(found.reading - found.limit))
    share = weight * band / (band + distance)
    if found.binding is Binding.RECOMMENDATION:
        share *= _ADVISED
    why = f"{found.rule}: {found.verdict}"
    if found.verdict in (Verdict.PASS, Verdict.FAIL):
        why += f", {abs(found.reading - found.limit):.2f} {found.unit} from its limit"
    return share, why


def _apart(now: Reading, attempt: Attempt) -> str | None:
    """The share for the largest difference from another run, if it is large."""
    if attempt.runs < 2:
        return None
    value = convert(now.value, now.unit, attempt.unit)
    widest = max(value - attempt.lowest, attempt.highest - value)
    much = attempt.mean and widest > abs(attempt.mean) / 10
    return f"{widest:.2f} {attempt.unit}" if much else None


def _seldom(now: Reading) -> bool:
    """True near an end of the plausible range; that of a controller's own settings says nothing."""
    if now.quantity in SETTINGS:
        return False
    facts = QUANTITIES[now.quantity]
    value = float(convert(now.value, now.unit, facts.unit))
    low, high = float(facts.low), float(facts.high)
    margin = (high - low) / 40
    return value < low + margin or value > high - margin
