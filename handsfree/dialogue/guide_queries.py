"""Requests about the controller's guide: what a code means, what was set, an entry by number."""

from __future__ import annotations

from handsfree.controllers.guide import Setting
from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue import guide_walk, navigation
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import GoToEntry, MeansAsked
from handsfree.language.wording import sentence
from handsfree.visit_record.controller_set_up import AS_FOUND


def what_means(turn: Turn, asked: MeansAsked) -> None:
    """Says what a code or another indication of the controller means."""
    guide = turn.guide
    if guide is None:
        turn.tell("guide_none", "answer")
        return
    code = texts.spelled_first(turn.words, asked.mark)
    means = texts.meaning(turn.words, guide, asked.mark)
    turn.say(means or turn.words.say("guide_not_there", code=code), "answer")


def what_did_we_set(turn: Turn) -> None:
    """Reads back every entry that was made."""
    entries = guide_walk.so_far(turn).entries.values()
    made = [e for e in entries if e.outcome == "made" and not e.entry.startswith(AS_FOUND)]
    if not made:
        turn.tell("guide_nothing_set", "answer")
    else:
        turn.say(" ".join(texts.made(each) for each in made), "answer")


def go_to_entry(turn: Turn, asked: GoToEntry) -> None:
    """Jumps to an entry by its number, or says what a setting with that number is."""
    guide = turn.guide
    place = (asked.control, asked.value)
    if guide is None:
        turn.tell("guide_none", "answer")
        return
    setting = next((each for each in guide.settings if each.place == place), None)
    step = next((each.step for each in guide_walk.set_up(turn) if each.step.place == place), None)
    if step is None and setting is not None:
        _tell_setting(turn, setting)
    elif step is None:
        turn.tell("guide_no_entry", "answer")
    else:
        task = next((t for t in turn.state.tasks if t.step.guide == "set_up"), None)
        if not turn.led and task is None:
            turn.tell("no_stage", "answer")
            return
        turn.wait_for(None)
        first = guide_walk.reopen(turn, guide, step.id)
        guide_walk.asked(turn, first)
        if not turn.led and task is not None:
            navigation.enter(turn, task)


def _tell_setting(turn: Turn, setting: Setting) -> None:
    turn.tell(
        "guide_setting",
        "answer",
        called=sentence(setting.called).rstrip("."),
        what=setting.name,
        low=f"{setting.low:f}",
        high=f"{setting.high:f}",
        step=f"{setting.step:f}",
        default=f"{setting.default:f}",
    )
