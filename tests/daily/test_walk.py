"""The daily walk by buttons gives the journal of a typed visit, whatever is tapped."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from handsfree.daily.app import page_words
from handsfree.daily.buttons import Button
from handsfree.daily.walk import LONGEST, DailyWalk, Screen
from handsfree.errors import JournalError
from handsfree.job.job import Sheet
from handsfree.job_file.loader import parse_sheet
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Word
from handsfree.language.wording import languages, wording
from handsfree.visit_record.load import load_record

KNOWN = """
[opening]
name = "lobby door"
seen_from = "inside"
swing = "single"
activation = "push plates"
fire_rated = false
sensors = false
lock = "none"
guide_rails = false
"""
Tap = Callable[[int, Screen], Button]


def sheet(language: str = "en", opening: str = KNOWN) -> Sheet:
    return parse_sheet(f'[job]\nlanguage = "{language}"\n{opening}', "lobby.job.toml")


def walk_in(folder: Path, language: str = "en", opening: str = KNOWN) -> DailyWalk:
    return DailyWalk(sheet(language, opening), lambda: folder / "walk")


def first(nth: int, screen: Screen) -> Button:
    return screen.controls.buttons[0]


def taken(walk: DailyWalk, tap: Tap = first, words: str = "it is cracked") -> list[Screen]:
    """Every screen of a walk to its end."""
    screens: list[Screen] = []
    while walk.open:
        screen = walk.screen()
        screens.append(screen)
        assert len(screens) < 60, screen
        say = tap(len(screens), screen).say if screen.controls.buttons else words
        assert walk.answer(screen.turn, say, promised=True)
    return screens


def labeled(screen: Screen, label: str) -> Button | None:
    return next((b for b in screen.controls.buttons if b.label == label), None)


@pytest.mark.slow
@pytest.mark.parametrize("language", languages())
def test_a_walk_in_which_all_is_well_ends_as_a_whole_visit(tmp_path, language):
    walk = walk_in(tmp_path, language)
    walk.begin("Dana Ruiz")
    screens = taken(walk)
    assert verify(tmp_path / "walk").whole
    visit = load_record(tmp_path / "walk")
    assert visit.complete and visit.opened.procedure == "daily-check"
    assert (visit.opened.ears, visit.sheet.technician) == ("typed", "Dana Ruiz")
    assert {fact.value for fact in visit.job.facts} == {"in_order"}
    assert not visit.open_items and not visit.skipped
    assert all(each.understood for each in visit.utterances)
    assert screens[-1].step == screens[-1].steps


@pytest.mark.slow
def test_each_accepted_answer_is_an_explicit_one_of_a_typed_visit(tmp_path):
    walk = walk_in(tmp_path)
    walk.begin("Dana Ruiz")
    taken(walk)
    bodies = [event.body for event in read(tmp_path / "walk")]
    facts = [body for body in bodies if isinstance(body, ev.FactAccepted)]
    assert facts and all(fact.how == "explicit" for fact in facts)
    heard = [body for body in bodies if isinstance(body, ev.Heard)]
    assert all(body.start_s is None and body.clip is None for body in heard)
    assert {body.text for body in heard} == {"pass", "affirm", "clear"}


@pytest.mark.slow
@pytest.mark.parametrize("language", languages())
def test_what_is_not_ok_is_noted_and_ends_with_the_operator_off(tmp_path, language):
    walk = walk_in(tmp_path, language)
    walk.begin("Dana Ruiz")
    screen = walk.screen()
    bad = labeled(screen, "not_ok")
    assert bad is not None and screen.controls.wrong == bad.say
    assert walk.answer(screen.turn, bad.say, "  a mat\n slips  ")
    second = walk.screen()
    bad = labeled(second, "not_ok")
    assert bad is not None and walk.answer(second.turn, bad.say)
    third = walk.screen()
    assert third.controls.free  # nobody wrote what is wrong, so it is asked
    assert walk.answer(third.turn, "the sign is gone")
    taken(walk)
    visit = load_record(tmp_path / "walk")
    assert visit.complete
    assert [note.now for note in visit.notes] == ["a mat slips", "the sign is gone"]
    assert [f.value for f in visit.job.facts].count("not_in_order") == 2
    settled = [e.body for e in read(tmp_path / "walk") if isinstance(e.body, ev.OpenSettled)]
    assert [body.word for body in settled] == ["tagged_out"] * 2


@pytest.mark.slow
@pytest.mark.parametrize("language", languages())
def test_what_is_not_there_does_not_apply_and_is_not_asked_again(tmp_path, language):
    walk = walk_in(tmp_path, language)
    walk.begin("Dana Ruiz")
    screens = taken(walk, lambda nth, screen: labeled(screen, "not_there") or first(nth, screen))
    visit = load_record(tmp_path / "walk")
    absent = [screen for screen in screens if labeled(screen, "not_there")]
    assert visit.complete and absent
    assert len(visit.skipped) == len(absent) == len({screen.step for screen in absent})
    settled = [e.body for e in read(tmp_path / "walk") if isinstance(e.body, ev.OpenSettled)]
    assert [body.word for body in settled] == ["not_applicable"] * len(absent)


@pytest.mark.slow
def test_a_note_to_what_is_ok_is_kept_at_its_step(tmp_path):
    walk = walk_in(tmp_path)
    walk.begin("Dana Ruiz")
    screen = walk.screen()
    walk.answer(screen.turn, screen.controls.buttons[0].say, "swept at seven")
    kept = [e.body for e in read(tmp_path / "walk") if isinstance(e.body, ev.NoteKept)]
    assert [(note.step_key, note.text) for note in kept] == [("way-clear", "swept at seven")]
    assert walk.screen().step == 2


@pytest.mark.slow
def test_an_answer_counts_once_and_only_if_the_page_offers_it(tmp_path):
    walk = walk_in(tmp_path)
    assert not walk.answer(0, "pass")  # before it begins
    walk.begin("Dana Ruiz")
    turn = walk.screen().turn
    before = verify(tmp_path / "walk").head
    for stale, say in ((turn - 1, "pass"), (turn, "stop"), (turn, ""), (turn, "left leaf")):
        assert not walk.answer(stale, say)
    assert verify(tmp_path / "walk").head == before
    assert walk.answer(turn, "pass")
    assert not walk.answer(turn, "fail")


@pytest.mark.slow
def test_nobody_moves_the_door_without_a_promise(tmp_path):
    walk = walk_in(tmp_path)
    walk.begin("Dana Ruiz")
    while not (screen := walk.screen()).controls.promise:
        walk.answer(screen.turn, screen.controls.buttons[0].say)
    clear = screen.controls.buttons[0].say
    assert clear == "clear"
    assert not walk.answer(screen.turn, clear)
    assert walk.answer(screen.turn, clear, promised=True)


@pytest.mark.slow
def test_a_note_is_cut_where_a_typed_line_is(tmp_path):
    walk = walk_in(tmp_path)
    walk.begin("Dana Ruiz")
    walk.answer(walk.screen().turn, "fail", "x" * (LONGEST + 9))
    assert [len(note.now) for note in load_record(tmp_path / "walk").notes] == [LONGEST]


@pytest.mark.slow
@pytest.mark.parametrize("answers", [0, 3])
def test_a_walk_goes_on_where_it_stood(tmp_path, answers):
    walk = walk_in(tmp_path)
    walk.begin("Dana Ruiz")
    for _ in range(answers):
        walk.answer(walk.screen().turn, "pass")
    step = walk.screen().step
    walk.close()
    again = walk_in(tmp_path)
    again.resume(tmp_path / "walk")
    assert again.screen().step == step
    taken(again)
    assert verify(tmp_path / "walk").whole and load_record(tmp_path / "walk").complete
    with pytest.raises(JournalError, match="this walk is closed"):
        walk_in(tmp_path).resume(tmp_path / "walk")


@pytest.mark.slow
def test_another_visit_is_no_walk(tmp_path, waiting):
    with pytest.raises(JournalError, match="no daily walk"):
        walk_in(tmp_path).resume(waiting)


@pytest.mark.slow
@pytest.mark.parametrize("language", languages())
def test_a_door_of_which_only_the_name_is_known_is_asked_for_by_buttons(tmp_path, language):
    walk = walk_in(tmp_path, language, '[opening]\nname = "any"\n')
    walk.begin("Dana Ruiz")
    screens = taken(walk)
    assert load_record(tmp_path / "walk").complete
    assert all(screen.controls.buttons for screen in screens)
    assert any(labeled(screen, "dont_know") for screen in screens)


@pytest.mark.parametrize("language", languages())
def test_what_a_button_types_is_understood(language):
    spoken, w = Language.load(language=language), wording(language)
    meant = {
        "page_affirm": Word(kind="affirm"),
        "page_negative": Word(kind="negative"),
        "page_skip": Word(kind="skip"),
        "page_not_applicable": Word(kind="not_applicable"),
        "page_dont_know": Word(kind="dont_know"),
        "page_note": Word(kind="note"),
        "page_tagged_out": Word(kind="tagged_out"),
        "page_done_later": Word(kind="done_later"),
    }
    assert {name: spoken.parse(w.say(name)) for name in meant} == meant
    assert spoken.parse(w.name("word", "clear")) == Word(kind="clear")
    assert spoken.parse(w.name("word", "pass")) == Choice(value="in_order")


def test_the_page_has_the_same_labels_in_every_language():
    words = page_words()
    assert set(words) == set(languages())
    assert all(set(labels) == set(words["en"]) for labels in words.values())
    assert json.dumps(words["es"]["ok"]) != json.dumps(words["en"]["ok"])
