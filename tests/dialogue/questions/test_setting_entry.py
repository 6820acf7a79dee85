"""A setting that is entered by its place: read back, on its scale, and kept."""

from __future__ import annotations

from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.setting_entry import SettingEntryQuestion
from handsfree.job.quantity import Quantity
from handsfree.journal.controller_events import EntryEnded

from ...guided import guided
from ...talk import Talk

QUESTION = SettingEntryQuestion


def ask(talk: Talk) -> None:
    guided(talk)
    talk.says("entry twenty eight set to four")


def test_it_is_read_back_and_kept_when_affirmed(talk):
    guided(talk)
    assert talk.says("entry twenty eight set to four") == [
        "Entry twenty eight, obstacle reversal, four. Yes or no?"
    ]
    assert talk.of(EntryEnded) == []
    said = talk.says("yes")
    assert said[0] == "Press the square key twice."
    (kept,) = talk.of(EntryEnded)
    assert (kept.entry, kept.called, kept.value) == (
        "setting-obstruction",
        "entry twenty eight",
        "four",
    )


def test_no_keeps_nothing(talk):
    ask(talk)
    talk.says("no")
    assert talk.of(EntryEnded) == [] and not isinstance(talk.state.pending, SettingEntryQuestion)


def test_a_value_off_its_scale_is_named_with_the_scale(talk):
    guided(talk)
    for line, value in (("entry twenty eight set to nine", "Nine"), ("entry 28 to 40", "Forty")):
        assert talk.says(line)[0] == (
            f"{value}. The controller takes zero to five for the obstacle reversal, "
            "in steps of one. Say the value again."
        )
    assert talk.of(EntryEnded) == []


def test_what_is_a_reading_of_the_visit_becomes_one(talk):
    guided(talk)
    talk.says("go to times")
    talk.says("entry twenty one set to twelve", "left")
    question = talk.state.pending
    assert isinstance(question, ReadingsQuestion)
    assert [(each.quantity, each.value) for each in question.items] == [
        (Quantity.OPENING_SPEED, 12)
    ]


def test_an_entry_that_is_no_setting_is_as_it_was(talk):
    guided(talk)
    talk.says("next")
    said = talk.says("entry one set to five")
    assert said[0].startswith("Motor one is on the left leaf.")
