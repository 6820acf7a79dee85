"""After a corrected size, angle, plate or weight, dependent findings are judged again and
spoken.
"""

from __future__ import annotations

from handsfree.job.finding import Verdict
from handsfree.journal import events as ev

LEFT_OPENING = "opening-time:left leaf"


def last_findings(talk) -> dict[str, Verdict]:
    return {found.rule: found.verdict for found in talk.of(ev.Judged)[-1].findings}


def test_a_heavier_leaf_brings_a_reading_down_that_had_passed(talk):
    """150 lb opens in 3.5 s; at 300 lb the formula asks for 4.69 s, so for 5.0 s."""
    talk.go_to(LEFT_OPENING)
    assert talk.says("four point one", "affirm")[0] == "Pass."
    spoken = talk.says("left leaf weight three hundred pounds", "affirm")
    assert spoken[0] == "Filed."
    assert spoken[1].startswith("Fail. The opening time of the left leaf is 4.1 seconds")
    assert last_findings(talk)["opening time"] is Verdict.FAIL


def test_a_withdrawn_size_takes_its_consequences_with_it(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("four point one", "affirm")
    talk.says("left leaf weight three hundred pounds", "affirm")
    spoken = talk.says("withdraw that", "affirm")
    assert spoken[0] == "Withdrawn." and not any("Fail" in said for said in spoken)
    assert last_findings(talk)["opening time"] is Verdict.PASS


def test_a_withdrawn_reading_leaves_the_one_before_it_judged_and_said(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("two point five", "affirm", "four point five", "affirm")
    spoken = talk.says("withdraw that", "affirm")
    assert any(said.startswith("Fail. The opening time of the left leaf is 2.5") for said in spoken)


def test_a_recommendation_that_is_not_kept_is_said_and_rules_nothing(talk):
    talk.go_to("hold-open:left leaf")
    talk.says("six", "affirm")
    spoken = talk.says("left plate distance nine feet", "affirm")
    assert spoken[0].startswith("A recommendation. The plate distance of the left plate is 9 feet")
    assert any("it should be at least 9 seconds" in said for said in spoken)
    assert not any(said.startswith("Fail") for said in spoken)
    assert "hold-open:left leaf" in talk.state.progress.ended
