"""Files visit facts: keeps them in the journal and says them back briefly."""

from __future__ import annotations

from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject
from handsfree.journal.paper_events import VisitFactKept
from handsfree.language.visit_fact_words import fact_name, spoken_value
from handsfree.language.wording import sentence


def keep_fact(turn: Turn, name: str, subject: Subject, value: str, clip: str | None) -> None:
    """Keeps a fact at the current task and says it back ('Noted: arrival.')."""
    turn.keep(
        VisitFactKept(
            subject=subject,
            name=name,
            value=value,
            step_key=turn.state.progress.at,
            clip=clip,
        )
    )
    w = turn.words
    what = fact_name(w, name, subject)
    if value:
        what = w.say("fact", about="", name=what, value=spoken_value(w, name, value))
    turn.say(sentence(w.say("visit_fact_noted", what=what)), "answer")
