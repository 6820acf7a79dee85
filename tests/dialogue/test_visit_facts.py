"""Visit facts can be stated at any step, and delay nothing."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.state import Heard
from handsfree.job.job import LastVisit, Sheet
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Unit
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept, VisitFactWithdrawn
from handsfree.procedure.loader import load_procedure
from handsfree.visit_record.progress import replay

from ..journal.examples import OPENED
from ..talk import Talk


def facts(talk: Talk) -> list[tuple[str, str]]:
    return [(fact.name, fact.value) for fact in talk.of(VisitFactKept)]


def test_a_moment_and_an_answer_count_at_once_and_the_step_stays(talk):
    at = talk.state.progress.at
    assert talk.says("arrival")[0] == "Noted: arrival."
    assert talk.says("inspection label put on")[0] == "Noted: inspection label, put on."
    assert facts(talk) == [("arrival", ""), ("inspection_label", "put_on")]
    assert talk.state.progress.at == at and talk.state.pending is None


def test_a_typed_value_follows_its_name(talk):
    talk.says("parts used: two arm screws, M6", "taken over by the front desk")
    assert facts(talk) == [
        ("parts_used", "two arm screws, M6"),
        ("taken_over_by", "the front desk"),
    ]


def test_a_typed_code_counts_at_once_where_typed_values_do(talk):
    talk.begins(confirm="doubtful")
    talk.kept.clear()
    typed = talk.heard("operator serial A7-42").model_copy(update={"taken": Taken.TYPED})
    said = _answers(talk, typed)
    assert said[0] == "Noted: serial number of the operator, alpha seven - four two."
    assert facts(talk) == [("operator_serial", "A7-42")]


@pytest.mark.parametrize(
    ("said", "hint"),
    [
        ("operator serial", "Say it in one breath: serial number of the operator, then"),
        ("gauge calibrated", "Say it in one breath: force gauge calibrated, then month and year."),
        ("inspection label", "Say inspection label, then there, missing or put on."),
    ],
)
def test_a_name_alone_gets_an_example_and_no_question(talk, said, hint):
    assert talk.says(said)[0].startswith(hint)
    assert talk.state.pending is None and talk.of(VisitFactKept) == []


def test_what_is_said_while_a_reading_waits_does_not_drop_it(talk):
    talk.go_to("opening-time:left leaf")
    (readback,) = talk.says("six point two")
    assert talk.says("photo") == ["Noted: photo.", readback]
    assert talk.says("operator serial kilo one") == ["First answer this.", readback]
    assert facts(talk) == [("photo", "")]


def test_it_is_no_answer_to_a_value_that_was_said_back(talk):
    talk.begins(confirm="doubtful")
    talk.go_to("opening-time:left leaf")
    talk.says("six point two")
    assert talk.state.echo is not None
    talk.says("photo", "parts used")
    assert talk.state.echo is not None
    talk.says("a spring")
    assert talk.state.echo is not None and [name for name, _ in facts(talk)] == [
        "photo",
        "parts_used",
    ]


def test_a_fact_is_taken_back_by_its_name(talk):
    assert talk.says("withdraw the parts used")[0] == "Nothing is noted for parts used."
    talk.says("parts used: a spring", "parts used: a screw")
    assert talk.says("withdraw the parts used")[0] == "Withdrawn: parts used."
    assert talk.state.progress.noted == {"opening/parts_used": 1}
    talk.says("withdraw the parts used")
    assert talk.state.progress.noted == {}
    assert talk.of(VisitFactWithdrawn) == [VisitFactWithdrawn(name="parts_used")] * 2


def test_a_resumed_visit_knows_what_was_noted(talk):
    talk.begins()
    talk.says("arrival", "parts used: a spring", "operator serial alpha one", "affirm")
    opened = _opened(talk)
    assert replay([opened, *talk.kept]).noted == talk.state.progress.noted


def test_no_fact_of_a_leaf_that_is_not_there(talk):
    job = talk.state.progress.job
    single = job.opening.model_copy(update={"leaves": job.opening.leaves[:1]})
    progress = talk.state.progress.model_copy(
        update={"job": job.model_copy(update={"opening": single})}
    )
    talk.state = talk.state.model_copy(update={"progress": progress})
    said = talk.says("right operator serial alpha one")
    assert said[0] == "This opening has no right leaf." and talk.state.pending is None


def test_a_step_names_what_is_blank_and_waits_for_none_of_it(talk):
    step = talk.state.procedure.steps[0].model_copy(
        update={"visit_facts": ("parts_used", "taken_over_by")}
    )
    steps = (step, *talk.state.procedure.steps[1:])
    procedure = talk.state.procedure.model_copy(update={"steps": steps})
    talk.state = talk.state.model_copy(update={"procedure": procedure})
    blank = "Not noted yet: parts used and taken over by."
    assert blank in talk.says("say again")
    talk.says("parts used: a spring")
    assert "Not noted yet: taken over by." in talk.says("say again")
    talk.says("done")
    assert talk.state.progress.ended[step.id] == "done"


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_shipped_hand_over_asks_for_parts_and_who_takes_over(language):
    procedure = load_procedure("yearly-service", language=language)
    (step,) = [each for each in procedure.steps if each.id == "owner-briefed"]
    assert step.visit_facts == ("parts_used", "taken_over_by") and step.waits == "done"


# --- the last visit


def reading(value: str, attempt: int = 1, run: int = 1) -> Reading:
    return Reading(
        id="r1",
        quantity=Quantity.OPENING_TIME,
        subject=Subject.LEFT_LEAF,
        value=value,
        unit=Unit.SECOND,
        taken=Taken.SAID,
        attempt=attempt,
        run=run,
    )


def after(talk: Talk, **last: object) -> Talk:
    """The same visit, with a last visit before it."""
    job = talk.state.progress.job
    before = LastVisit(reference="T-0", on="2099-03-04", **last)
    sheet: Sheet = job.sheet.model_copy(update={"last_visit": before})
    progress = talk.state.progress.model_copy(
        update={"job": job.model_copy(update={"sheet": sheet})}
    )
    talk.state = talk.state.model_copy(update={"progress": progress})
    talk.go_to("opening-time:left leaf")
    return talk


def test_the_last_visit_is_said_beside_the_first_reading_only(talk):
    after(talk, readings=(reading("5.1"),), last_year=True)
    talk.says("six point two")
    assert "Last year, five point one." in talk.says("affirm")
    talk.says("left leaf opening time six point three")
    assert not [text for text in talk.says("affirm") if text.startswith("Last")]


def test_the_mean_of_its_runs_is_said_in_the_places_that_were_read(talk):
    after(talk, readings=(reading("5.1"), reading("5.3", run=2), reading("5.3", run=3)))
    talk.says("six point two")
    assert "Last visit, five point two." in talk.says("affirm")  # 15.7 / 3 = 5.23


def test_nothing_is_said_of_what_was_not_measured_then(talk):
    after(talk)
    talk.says("six point two")
    assert not [text for text in talk.says("affirm") if text.startswith("Last")]


def _answers(talk: Talk, heard: Heard) -> list[str]:
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def _opened(talk: Talk) -> ev.VisitOpened:
    return OPENED.model_copy(update={"sheet": talk.state.progress.job.sheet})
