"""Requests about the controller's guide: what a code means, what was set, an entry by number."""

from __future__ import annotations

from decimal import Decimal

from handsfree.controllers.guide import Setting
from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue import guide_walk, navigation, reading_intake
from handsfree.dialogue.questions.setting_entry import SettingEntryQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import EntrySaid, GoToEntry, MeansAsked, ReadingSaid
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
    setting = guide.setting_at(place)
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


def entered(turn: Turn, said: EntrySaid, heard: Heard) -> None:
    """Takes 'entry twenty eight set to four' for a setting, on its scale."""
    setting = turn.guide.setting_at((said.control, said.value)) if turn.guide is not None else None
    if setting is None or not said.code.isdecimal():
        turn.say(turn.hint, "repair")
        return
    value = Decimal(said.code)
    on_scale = setting.low <= value <= setting.high and (value - setting.low) % setting.step == 0
    if not on_scale:
        turn.tell(
            "off_the_scale",
            "repair",
            value=sentence(texts.value(turn.words, value)),
            low=texts.value(turn.words, setting.low),
            high=texts.value(turn.words, setting.high),
            step=texts.value(turn.words, setting.step),
            quantity=setting.name,
        )
    elif setting.quantity is not None:
        reading = ReadingSaid(quantity=setting.quantity, value=value)
        alone = heard.model_copy(update={"meaning": reading})
        reading_intake.propose(turn, (reading,), alone)
    else:
        turn.ask(SettingEntryQuestion(setting=setting.id, value=value, clip=heard.clip))


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
