"""The door of failing parts: only a fault justifies a complaint, and each fault justifies one."""

from __future__ import annotations

import pytest

from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.rehearsal.door_faults import FAULTS, repaired, with_fault
from handsfree.rehearsal.door_parts import Parts
from handsfree.rehearsal.door_symptoms import COMPLAINTS, SEEN, observe

# One fault where nothing but a rival of the named cause is left: no part stands for it.
WITHOUT_A_PART = {("learn-wrong-way", "controller-dead")}


def test_there_is_a_complaint_for_every_tree():
    assert set(COMPLAINTS) == set(shipped_trees())


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_a_well_door_gives_no_reason_for_a_complaint(complaint):
    assert not COMPLAINTS[complaint](Parts())


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_gives_reason_for_a_complaint_until_it_is_repaired(fault):
    parts = with_fault(fault)
    assert any(gives(parts) for gives in COMPLAINTS.values())
    assert repaired(parts, (fault,)) == Parts()


@pytest.mark.parametrize("name", shipped_trees())
def test_everything_that_a_tree_asks_for_can_be_observed(name):
    for check in load_tree(name).checks:
        assert check.sees in SEEN
        for fault in FAULTS:
            assert observe(with_fault(fault), check.sees) in check.choices


@pytest.mark.parametrize("name", shipped_trees())
def test_every_cause_of_a_tree_is_a_fault_of_the_door_or_covers_some(name):
    from ..bench.search import COVERS

    for cause in load_tree(name).causes:
        if (name, cause.id) not in WITHOUT_A_PART:
            hidden = (cause.id, *COVERS.get(cause.id, ()))
            assert any(f in FAULTS and COMPLAINTS[name](with_fault(f)) for f in hidden), cause.id
