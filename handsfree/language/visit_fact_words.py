"""Words for visit facts: the name of a fact with its leaf, and its value."""

from __future__ import annotations

from handsfree.job.reading import Subject
from handsfree.job.visit_fact import VISIT_FACTS, visit_fact_words
from handsfree.language.wording import Wording


def fact_name(w: Wording, name: str, subject: Subject = Subject.OPENING) -> str:
    """The name of a fact with its leaf ('serial number of the operator, left leaf')."""
    called = visit_fact_words(name, w.language).name
    return called if subject is Subject.OPENING else f"{called}, {w.subject(subject)}"


def shown_value(w: Wording, name: str, value: str) -> str:
    """The value as printed on paper; for an answer its name."""
    answer = visit_fact_words(name, w.language).values.get(value)
    return value if answer is None else answer.name


def spoken_value(w: Wording, name: str, value: str) -> str:
    """The value as read back: a code letter by letter, a date with the name of its month."""
    match VISIT_FACTS[name].takes:
        case "code":
            return spelled_out(w, value)
        case "date":
            year, month, *day = value.split("-")
            named, spoken = w.name("calendar", month), w.digits(year)
            if not day:
                return w.say("visit_fact_date", month=named, year=spoken)
            of_month = w.digits(str(int(day[0])))
            return w.say("visit_fact_day", month=named, year=spoken, day=of_month)
        case _:
            return shown_value(w, name, value)


def spelled_out(w: Wording, code: str) -> str:
    """A code spelled out: 'alpha seven four'."""
    spelled = {**w.names["letter"], **w.names["digit"]}
    return " ".join(str(spelled.get(sign, sign)) for sign in code.lower() if sign != " ")
