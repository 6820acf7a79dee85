"""Texts about a controller's guide: what to enter, what to see, how to spell a code."""

from __future__ import annotations

from decimal import Decimal

from handsfree.controllers.door_kinds import because, missing_fact
from handsfree.controllers.guide import Guide, Seen
from handsfree.controllers.worked_out import WorkedOut
from handsfree.journal.controller_events import EntryEnded
from handsfree.language.wording import Wording, sentence


def spelled(w: Wording, mark: str) -> str:
    """A code in words: 'echo four two', or 'two times, then three times'."""
    if mark.endswith(" blinks"):
        counts = mark.removesuffix(" blinks").split()
        times = [w.say("blink_times", count=int(n), n=w.digits(n)) for n in counts]
        return w.say("blink_then").join(times)
    words = {**w.names["letter"], **w.names["digit"]}
    return " ".join(str(words[sign]) for sign in mark.lower())


def spelled_first(w: Wording, mark: str) -> str:
    """The same at the beginning of a sentence: 'Echo four two'."""
    return spelled(w, mark).capitalize()


def shown(w: Wording, seen: Seen) -> str:
    """'The display shows alpha one.'; '' if nothing is shown."""
    if seen.mark is None:
        return ""
    return w.say("guide_blinks" if seen.blinks else "guide_shows", code=spelled(w, seen.mark))


def meaning(w: Wording, guide: Guide, mark: str) -> str | None:
    """The meaning of what is shown: a code, the end of a learn cycle, or an entry with its value.

    None if the guide does not know it.
    """
    spelled_code = spelled_first(w, mark)
    if (code := guide.code(mark)) is not None:
        return w.say("guide_code_means", code=spelled_code, means=code.means, remedy=code.remedy)
    if mark == guide.learn.success.mark:
        return w.say("guide_success_means", code=spelled_code)
    for step in guide.set_up:
        for value in step.value:
            if value.mark == mark:
                return w.say(
                    "guide_value_means", code=spelled_code, what=f"{step.name}, {value.say}"
                )
        if step.mark == mark:
            return w.say("guide_value_means", code=spelled_code, what=step.name)
    return None


def entry(w: Wording, guide: Guide, each: WorkedOut) -> str:
    """The prompt for an entry: the reason for its value, where to enter it, what to see."""
    step, value = each.step, each.value
    if each.state == "unknown":
        return missing_fact(each.asks or "", w)
    if value is None:
        return " ".join(part for part in (step.say or "", _extra(w, each)) if part)
    reasons = [because(condition, w) for condition in value.when]
    where = step.called or step.name
    control = guide.control(step.control)
    if step.say is not None:
        enter = step.say
    elif control is not None:
        enter = control.enter.format(called=where, value=value.say)
    elif step.before is not None:
        before = w.say("guide_before", called=where, code=spelled(w, step.before))
        enter = f"{sentence(before)} {w.say('guide_set_then', value=value.say)}"
    else:
        enter = w.say("guide_set", called=where, value=value.say)
    parts = (*reasons, sentence(enter), shown(w, each.seen))
    return " ".join(part for part in parts if part)


def _extra(w: Wording, each: WorkedOut) -> str:
    """The indication after an action, unless its own words mention it."""
    seen, said = each.seen, (each.step.say or "").lower()
    if seen.mark is None or seen.blinks or spelled(w, seen.mark) in said:
        return ""
    return shown(w, seen)


def value(w: Wording, number: Decimal) -> str:
    """The value of a setting: a whole number as people say it ('forty')."""
    several = number >= 10 and number == number.to_integral_value()
    return w.cardinal(int(number)) if several else w.number(number)


def made(ended: EntryEnded) -> str:
    """A finished entry as it is read back ('Entry three, hand of motor one, one.')."""
    parts = (ended.called, ended.name, ended.value)
    return sentence(", ".join(part for part in parts if part))
