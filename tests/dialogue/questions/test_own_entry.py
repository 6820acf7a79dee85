"""Entries in the technician's own words."""

from __future__ import annotations

from handsfree.controllers.guide_loader import load_guide
from handsfree.dialogue.questions.own_entry import OwnEntryQuestion
from handsfree.journal.controller_events import EntryEnded

from ...guided import guided
from ...talk import Talk

QUESTION = OwnEntryQuestion


def ask(talk: Talk) -> None:
    guided(talk, None)


def test_without_a_guide_every_entry_is_kept_as_it_was_said(talk):
    ask(talk)
    assert talk.says("entry three set to one") == ["Entry three set to one. Kept."]
    assert talk.says("the small key twice") == ["The small key twice. Kept."]
    talk.says("done")
    assert [(body.entry, body.text) for body in talk.of(EntryEnded)] == [
        ("own-1", "entry three set to one"),
        ("own-2", "the small key twice"),
    ]
    assert talk.state.progress.ended["set-up"] == "done"
    assert talk.says("what did we set")[0] == "Entry three set to one. The small key twice."


def test_negative_takes_the_last_one_back(talk):
    ask(talk)
    talk.says("entry three set to one", "entry four set to two")
    assert talk.says("negative") == ["Dropped: entry four set to two."]
    assert talk.says("what did we set")[0] == "Entry three set to one."


def test_a_value_that_the_guide_lacks_is_asked_for_in_own_words(talk):
    guide = load_guide("heron")
    step = guide.set_up[1]
    value = tuple(each for each in step.value if each.say != "five")
    steps = (guide.set_up[0], step.model_copy(update={"value": value}), *guide.set_up[2:])
    guided(talk)
    procedure = talk.state.procedure.model_copy(
        update={"controller": guide.model_copy(update={"set_up": steps})}
    )
    talk.state = talk.state.model_copy(update={"procedure": procedure, "pending": None})
    said = talk.begins()
    assert "The guide of the controller has no value for door type on this door." in said[1]
    talk.says("go to entry one")
    assert talk.state.pending == OwnEntryQuestion(entry="door-type")
    talk.says("seven as the sheet shows")
    ended = talk.of(EntryEnded)[-1]
    assert (ended.entry, ended.called, ended.value) == (
        "door-type", "entry one", "seven as the sheet shows",
    )  # fmt: skip
