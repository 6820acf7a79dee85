"""The order of entries: each once, saving steps last, and entries to repeat."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from handsfree.controllers.entry_order import circle_of, done_again, entry_before, next_entry
from handsfree.controllers.guide import LEARN
from handsfree.controllers.guide_loader import load_guide

HERON = load_guide("heron")
WALK = (*(step.id for step in HERON.set_up), LEARN)


@given(st.lists(st.sampled_from(WALK[:-2]), max_size=6))
def test_with_any_jumps_every_entry_is_made_once_and_kept_before_it_learns(jumps):
    over: set[str] = set()
    order: list[str] = []
    at: str | None = None
    for entry in [*jumps, None]:
        at = entry if entry not in over else at
        while at is None or at in over or entry is None:
            following = next_entry(HERON, WALK, over, at)
            if following is None:
                break
            at = following
            if entry is not None:
                break
            over.add(at)
            order.append(at)
        if entry is not None and at is not None and at not in over:
            over.add(at)
            order.append(at)
    assert sorted(order) == sorted(WALK)
    assert order[-2:] == ["keep", LEARN]


def test_before_it_is_kept_an_entry_is_made_again_alone():
    assert done_again(HERON, "hand-one", {"open-up", "hand-one"}) == ("hand-one",)


def test_after_it_was_kept_it_is_opened_up_and_kept_again():
    made = {"open-up", "hand-one", "keep"}
    assert done_again(HERON, "hand-one", made) == ("open-up", "hand-one", "keep")
    assert done_again(HERON, "keep", made) == ("open-up", "keep")


def test_the_entry_before_the_first_is_the_first():
    assert entry_before(WALK, "open-up") == "open-up"
    assert entry_before(WALK, "door-type") == "open-up"


def test_a_circle_is_found_and_a_chain_is_none():
    assert circle_of({"a": ("b",), "b": ("c",), "c": ()}) == ()
    assert circle_of({"a": ("b",), "b": ("a",)}) == ("a", "b", "a")
