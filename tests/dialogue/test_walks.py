"""Every shipped procedure, walked from beginning to end with typed answers."""

from __future__ import annotations

import re
from itertools import product

import pytest

from handsfree.controllers.guide import LEARN
from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.controllers.worked_out import set_up_of
from handsfree.dialogue.questions.search_offer import SearchOfferQuestion
from handsfree.dialogue.state import State
from handsfree.job.opening import Swing
from handsfree.job.quantity import Quantity
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.visit_record.progress import replay

from .technician import PHRASES, answer_to, opening, walk
from .test_spanish_talk import ENGLISH

COMPLAINTS = ("slams", "stays_open", "does_not_open", "hits_people", "will_not_latch")
WALKS = [(name, "slams") for name in shipped_procedures() if name != "complaint"]
WALKS += [("complaint", complaint) for complaint in COMPLAINTS]
OPENINGS = list(product(Swing, (True, False)))
# Each procedure at each opening, in one of the languages: in each it is walked at every swing,
# with everything fitted and with nothing.
COVERING = [
    (languages()[(nth + which + everything) % len(languages())], *walk, swing, everything)
    for nth, walk in enumerate(WALKS)
    for which, swing in enumerate(Swing)
    for everything in (True, False)
]
# Of these one for each procedure, at one opening after the other: the others are slow.
QUICK = {
    COVERING[len(OPENINGS) * nth + (nth + nth // len(OPENINGS)) % len(OPENINGS)]
    for nth in range(len(WALKS))
}


@pytest.fixture(scope="module")
def spoken(request: pytest.FixtureRequest) -> Language:
    return Language.load(language=request.param)


def assert_no_english(said: list[str]) -> None:
    for text in said:
        words = set(re.findall(r"[^\W\d_]+", text.lower()))
        assert not words & set(ENGLISH.split()), text


def test_every_two_of_language_procedure_and_opening_meet() -> None:
    walked = set(COVERING)
    assert {one[1:] for one in walked} == {(*w, *o) for w in WALKS for o in OPENINGS}
    for language, one_walk in product(languages(), WALKS):
        doors = [one[3:] for one in walked if one[:3] == (language, *one_walk)]
        assert {swing for swing, _ in doors} == set(Swing), one_walk
        assert {everything for _, everything in doors} == {True, False}, one_walk
    for language, door in product(languages(), OPENINGS):
        assert any(one[0] == language and one[3:] == door for one in walked), door


@pytest.mark.parametrize(
    ("spoken", "name", "complaint", "swing", "everything"),
    [pytest.param(*one, marks=[] if one in QUICK else pytest.mark.slow) for one in COVERING],
    indirect=["spoken"],
)
def test_a_procedure_is_walked_from_start_to_close_out(
    spoken: Language, name: str, complaint: str, swing: Swing, everything: bool
) -> None:
    w = spoken.wording
    procedure = load_procedure(name, language=w.language)
    door = opening(swing, everything)
    walked = walk(
        spoken,
        procedure,
        door,
        lambda state: answer_to(state, complaint),
        confirm="every" if swing is Swing.SINGLE else "doubtful",
    )
    progress = walked.state.progress
    assert set(progress.ended.values()) <= {"done", "failed"}
    assert [task.key for task in walked.state.tasks if task.key not in progress.ended] == []
    assert replay(walked.journal) == progress
    last = walked.said[-1]
    counted = re.search(r"(\d+) (?:of|de) (\d+) ", last)
    assert counted is not None and counted[1] == counted[2] != "0", last
    if w.language != "en":
        assert_no_english(walked.said)


@pytest.mark.parametrize("spoken", languages(), indirect=True)
@pytest.mark.parametrize("complaint", ["slams", "does_not_open", "noise", "opens_by_itself"])
def test_a_complaint_is_searched_with_its_tree(spoken: Language, complaint: str) -> None:
    w = spoken.wording
    offered: list[str] = []

    def answer(state: State) -> str:
        phrases, text = PHRASES[w.language], answer_to(state, complaint)
        if isinstance(state.pending, SearchOfferQuestion):
            offered.append(state.pending.complaint)
        task = state.task
        searching = task is not None and task.step.id == "complaint-gone"
        return phrases.not_in_order if searching and text == phrases.in_order else text

    door = opening(Swing.SINGLE, everything=True)
    walked = walk(spoken, load_procedure("complaint", language=w.language), door, answer)
    assert offered == [complaint.replace("_", "-")]
    assert walked.state.progress.ended["complaint-gone"] == "failed"
    assert w.say("head_wrong", what="").rstrip(". ") in walked.said[-1]


GUIDED = [(language, name) for language in languages() for name in shipped_guides(language)]


@pytest.mark.slow
@pytest.mark.parametrize(("spoken", "name"), GUIDED, indirect=["spoken"])
def test_a_visit_that_a_guide_leads_through_is_walked_to_its_close_out(
    spoken: Language, name: str
) -> None:
    w = spoken.wording
    guide = load_guide(name, w.language)
    procedure = load_procedure("controller-replaced-pair", guide, w.language)
    door = opening(Swing.SAME_WAY, everything=True)
    walked = walk(spoken, procedure, door, lambda state: answer_to(state, "slams"))
    progress = walked.state.progress
    assert set(progress.ended.values()) == {"done"}
    assert replay(walked.journal) == progress
    entries = [each.step.id for each in set_up_of(guide, progress.job)]
    assert progress.controller.made >= {*entries, LEARN}
    if w.language != "en":
        assert_no_english(walked.said)


# Values that a door may have and that no check lets pass.
TOO_BAD = {
    Quantity.OPENING_TIME: "dos segundos",
    Quantity.HOLD_OPEN_TIME: "dos segundos",
    Quantity.LATCHING_TIME: "medio segundo",
    Quantity.CLOSING_FORCE: "veinte libras fuerza",
    Quantity.RELEASE_FORCE: "treinta libras fuerza",
    Quantity.PLATE_HEIGHT: "sesenta pulgadas",
    Quantity.NEXT_SERVICE: "veinte meses",
}


ALL_WRONG = [(name, None) for name in shipped_procedures()] + [("complaint", "heron")]


@pytest.mark.slow
@pytest.mark.parametrize(("name", "menu"), ALL_WRONG)
def test_a_door_that_is_all_wrong_is_talked_about_without_english(
    name: str, menu: str | None
) -> None:
    """With everything asked at every step, and the guide of a controller or none."""
    spanish = Language.load(language="es")
    phrases, w = PHRASES["es"], spanish.wording

    def answer(state: State) -> str:
        text, task = answer_to(state, "hits_people"), state.task
        if text == phrases.in_order:
            return phrases.not_in_order
        if state.pending is None and task is not None and task.step.quantity in TOO_BAD:
            last = state.progress.job.latest(task.step.quantity, task.subject)
            if last is not None and last.attempt >= task.step.attempts:
                return "siguiente"
            return f"{w.quantity(task.step.quantity)} {TOO_BAD[task.step.quantity]}"
        return text

    controller = load_guide(menu, "es") if menu else None
    procedure = load_procedure(name, controller, "es")
    walked = walk(spanish, procedure, opening(Swing.SAME_WAY, True), answer, phrases.asides)
    assert w.say("head_wrong", what="").rstrip(". ") in walked.said[-1]
    assert_no_english(walked.said)
