"""Joint confirmation: nothing doubtful, corrected or failing, and only after a sample."""

from __future__ import annotations

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from handsfree.errors import OfficeError
from handsfree.job.finding import Finding, Verdict
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.canonical_json import NO_HASH
from handsfree.office.changes import Amend, Confirm, ConfirmTogether, DrawSample, Strike
from handsfree.office.review_plan import review_plan
from handsfree.office.sign_off_blockers import blockers

from ..journal.examples import OPENED
from ..reports.at_desk import AtDesk

KINDS = list(QUANTITIES)[:16]
DOUBTS = ("fails", "close", "near", "runs differ", "again", "alike", "noise", "two", "none")
HOWS = ("explicit", "implicit", "typed")


def desk_of(readings: list[tuple[str, str]]) -> AtDesk:
    """A finished visit with one reading of each kind of acceptance and doubt.

    '' means no doubt. The doubts come from what the visit itself writes, not from the plan.
    """
    first = ev.Event(seq=1, at="2026-03-04T09:15:02.120Z", body=OPENED, prev=NO_HASH)
    desk = AtDesk((first,))
    for nth, (how, doubt) in enumerate(readings):
        kind, name = KINDS[nth], f"r{nth + 1}"
        facts = QUANTITIES[kind]
        value = ((Decimal(facts.low) + Decimal(facts.high)) / 2).quantize(Decimal("0.1"))
        seq = len(desk.events) + 1
        if doubt == "again":
            desk.add(ev.Heard(text="", meaning=None))
        if doubt == "noise":
            desk.add(ev.ConfirmSet(confirm="every", why="noise"))
        alike = ("fifteen",) if doubt == "alike" else ()
        clip = None if how == "typed" else f"{seq}.flac"
        desk.add(ev.Heard(text="x", meaning={"kind": "affirm"}, clip=clip, may_be=alike))
        if doubt == "none":
            heard = len(desk.events)
            desk.add(ev.SecondHeard(heard=heard, text="", words="", outcome="unclear"))
        reading = Reading(
            id=name,
            quantity=kind,
            subject=Subject.LEFT_LEAF,
            value=value,
            unit=facts.unit,
            taken=Taken.TYPED if how == "typed" else Taken.SAID,
            clip=clip,
            second_ear="chosen" if doubt == "two" else None,
        )
        verdict = {"fails": Verdict.FAIL, "close": Verdict.TOO_CLOSE}.get(doubt, Verdict.PASS)
        finding = Finding(
            rule="opening time",
            subject=Subject.LEFT_LEAF,
            quantity=kind,
            verdict=verdict,
            reading=value,
            limit=value - (1 if doubt == "near" else 50),
            guard_band=Decimal(1),
            bound="at least",
            reading_id=name,
            note="one of its runs fails" if doubt == "runs differ" else "",
        )
        desk.add(ev.ReadingAccepted(reading=reading, how=how), ev.Judged(findings=(finding,)))
        if doubt == "noise":
            desk.add(ev.ConfirmSet(confirm="doubtful", why="heard_well"))
    desk.add(ev.VisitClosed())
    return desk


def ids(items) -> list[str]:
    return [item.id for item in items]


readings = st.lists(
    st.tuples(st.sampled_from(HOWS), st.sampled_from(["", "", "", *DOUBTS])),
    min_size=1,
    max_size=len(KINDS),
)
acts = st.lists(
    st.tuples(
        st.sampled_from(["draw", "together", "all", "some", "confirm", "amend", "strike", "heard"]),
        st.integers(0, len(KINDS) - 1),
        st.text("0123456789abcdef", min_size=4, max_size=4),
    ),
    max_size=12,
)


def do(desk: AtDesk, what: str, nth: int, seed: str) -> None:
    """Makes a change, possibly an invalid one; a refused change has no effect."""
    record = desk.record()
    plan, name = review_plan(record), f"r{nth + 1}"
    some = [each for n, each in enumerate(ids(record.standing)) if n % (nth + 1) == 0]
    item = record.reading(name)
    with suppress(OfficeError):
        match what:
            case "draw":
                desk.change(DrawSample(seed=seed))
            case "together":
                desk.change(ConfirmTogether(reading_ids=" ".join(ids(plan.together))))
            case "all":
                desk.change(ConfirmTogether(reading_ids=" ".join(ids(record.standing))))
            case "some":
                desk.change(ConfirmTogether(reading_ids=" ".join(some)))
            case "confirm":
                desk.change(Confirm(reading_id=name))
            case "heard":
                for each in plan.listen:
                    desk.change(Confirm(reading_id=each.id))
            case "strike":
                desk.change(Strike(reading_id=name, why="x"))
            case "amend" if item is not None:
                new = str(item.now.value + Decimal("0.1"))
                desk.change(Amend(reading_id=name, new=new, why="x", sure=True))


@pytest.mark.slow
@settings(max_examples=60)
@given(readings, acts)
def test_nothing_doubtful_failing_or_corrected_is_ever_confirmed_together(made, happens):
    desk = desk_of(made)
    doubtful = {f"r{n}" for n, (_, doubt) in enumerate(made, start=1) if doubt}
    typed = {f"r{n}" for n, (how, _) in enumerate(made, start=1) if how == "typed"}
    for act in happens:
        before, count = desk.record(), len(desk.events)
        do(desk, *act)
        for body in (event.body for event in desk.events[count:]):
            if not isinstance(body, office.ReadingsConfirmed):
                continue
            together = set(body.reading_ids)
            assert together and not together & doubtful
            for name in together:
                item = before.reading(name)
                assert item.gone is None and not item.amendments
                assert all(f.verdict is Verdict.PASS for f in item.findings)
            drawn = [each for each in before.samples if together & set(each.pool)]
            assert together - typed <= {name for each in drawn for name in each.pool}
            for each in drawn:
                assert 10 * len(each.drawn) >= len(each.pool)
                for name in each.drawn:
                    item = before.reading(name)
                    heard = [c for c in item.confirmations if not c.together]
                    withdrawn = item.gone is not None and item.gone.how == "withdrawn"
                    assert not item.amendments and (heard or withdrawn)
    after = desk.record()
    for item in after.standing:
        if item.id in doubtful and item.reviewed:
            alone = [c for c in item.confirmations if not c.together]
            assert item.amendments or alone


@pytest.mark.slow
@settings(max_examples=30)
@given(readings)
def test_every_reading_stands_in_one_place_of_the_plan(made):
    plan = review_plan(desk_of(made).record())
    assert sorted(ids(plan.left)) == sorted(f"r{n}" for n in range(1, len(made) + 1))
    assert {i.id for i in plan.alone} == {f"r{n}" for n, (_, d) in enumerate(made, 1) if d}
    assert all(item.how == "typed" for item in plan.together) and plan.sample == ()


def test_from_the_first_reading_to_the_sign_off():
    desk = desk_of([("explicit", "")] * 13 + [("typed", "")] * 2 + [("implicit", "near")])
    plan = review_plan(desk.record())
    assert (ids(plan.alone), len(plan.undrawn), len(plan.together)) == (["r16"], 13, 2)
    assert plan.ready == ()
    desk.change(DrawSample(seed="seed"))
    assert desk.change(DrawSample(seed="another")) == ()  # one sample is enough
    plan = review_plan(desk.record())
    assert (len(plan.sample), len(plan.together), plan.undrawn) == (2, 13, ())
    with pytest.raises(OfficeError, match="r16"):
        desk.change(ConfirmTogether(reading_ids="r14 r15"))
    for item in plan.listen:
        desk.change(Confirm(reading_id=item.id))
    ready = review_plan(desk.record()).ready
    assert len(ready) == 13
    desk.change(ConfirmTogether(reading_ids=" ".join(ready)))
    assert review_plan(desk.record()).left == ()
    assert [each.kind for each in blockers(desk.record())] == []


def test_typed_readings_need_no_ear():
    desk = desk_of([("typed", "")] * 4)
    assert review_plan(desk.record()).ready == ("r1", "r2", "r3", "r4")


@pytest.mark.parametrize(
    "wrong", [lambda name: Amend(reading_id=name, new="50", why="x", sure=True), Strike]
)
def test_where_one_of_the_sample_is_wrong_each_of_the_rest_is_listened_to(wrong):
    desk = desk_of([("explicit", "")] * 12 + [("typed", "")])
    desk.change(DrawSample(seed="seed"))
    one, other = ids(review_plan(desk.record()).sample)
    desk.change(wrong(one) if wrong is not Strike else Strike(reading_id=one, why="x"))
    plan = review_plan(desk.record())
    assert len(plan.alone) == 11 and other in ids(plan.alone)
    assert (plan.sample, ids(plan.together)) == ((), ["r13"])


def test_a_reading_that_fails_after_it_was_confirmed_together_is_listened_to():
    desk = desk_of([("typed", "")] * 3)
    desk.change(ConfirmTogether(reading_ids="r1 r2 r3"))
    found = desk.record().reading("r2").findings[0]
    desk.add(ev.Judged(findings=(found.model_copy(update={"verdict": Verdict.FAIL}),)))
    assert ids(review_plan(desk.record()).left) == ["r2"]
    assert desk.record().reading("r2").confirmed_by is None


@pytest.mark.slow
@given(st.lists(st.from_regex(r"r[1-9][0-9]?", fullmatch=True), unique=True), st.text(max_size=9))
def test_a_sample_is_what_its_seed_draws_and_a_tenth_at_least(pool, seed):
    drawn = office.draw(pool, seed)
    least = max(-(-len(pool) // 10), min(1, len(pool)))
    assert sorted(drawn) == sorted(pool) and office.sample_size(len(pool)) == least
    office.SampleDrawn(seed=seed, pool=tuple(pool), drawn=drawn[:least], by="x")
    for other in (drawn[1 : least + 1], drawn[: least - 1]):
        if len(pool) > 1 and other != drawn[:least]:
            with pytest.raises(ValidationError, match="seed"):
                office.SampleDrawn(seed=seed, pool=tuple(pool), drawn=other, by="x")


@pytest.mark.slow
def test_every_reading_is_drawn_as_often_as_any_other():
    """Pearson's chi-squared test, scipy's; the seeds are fixed, so it comes out the same."""
    import scipy.stats

    pool = [f"r{n}" for n in range(1, 47)]
    drawn = [name for seed in range(1000) for name in office.draw(pool, str(seed))[:5]]
    assert scipy.stats.chisquare([drawn.count(name) for name in pool]).pvalue > 0.01
