"""Takes facts for the paperwork, spoken at any step: 'operator serial alpha seven', 'arrival'."""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.questions.visit_fact_check import VisitFactCheckQuestion
from handsfree.dialogue.questions.visit_fact_words import VisitFactWordsQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.visit_fact_filing import keep_fact
from handsfree.job.job import leaves_of
from handsfree.job.reading import Subject, Taken
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal.paper_events import VisitFactWithdrawn
from handsfree.language.meaning import VisitFactSaid
from handsfree.language.visit_fact_words import fact_name, shown_value
from handsfree.language.wording import sentence
from handsfree.visit_record.progress import fact_key


def state(turn: Turn, said: VisitFactSaid, heard: Heard) -> None:
    """Keeps a fact or takes it back; then repeats the pending question or the step.

    A spoken code or date is read back first. Free words are asked for, and kept with their sound.
    If another question is pending, its answer comes first.
    """
    subject = said.subject or Subject.OPENING
    if subject is not Subject.OPENING and subject not in leaves_of(turn.job):
        turn.tell("no_such", "repair", subject=turn.words.subject(subject))
    elif said.withdrawn:
        _withdraw(turn, said.fact, subject)
    elif (asks := _question(turn, said, subject, heard)) is not None:
        if turn.state.pending is not None and not turn.led:
            turn.tell("first_answer", "repair")
        else:
            turn.ask(asks)
            return
    elif said.is_name and VISIT_FACTS[said.fact].takes != "moment":
        _how_to_say(turn, said.fact)
    else:
        keep_fact(turn, said.fact, subject, said.value or "", heard.clip)
    if not turn.ask_again():
        navigation.prompt_again(turn)


def _question(
    turn: Turn, said: VisitFactSaid, subject: Subject, heard: Heard
) -> VisitFactCheckQuestion | VisitFactWordsQuestion | None:
    """The question needed for a statement; None if it counts at once or gives no value."""
    takes = VISIT_FACTS[said.fact].takes
    if takes == "words" and said.text is None:
        return VisitFactWordsQuestion(fact=said.fact, subject=subject)
    typed = heard.taken is Taken.TYPED and turn.state.progress.confirm == "doubtful"
    if takes not in ("code", "date") or said.value is None or typed:
        return None
    return VisitFactCheckQuestion(
        fact=said.fact, subject=subject, value=said.value, clip=heard.clip
    )


def _withdraw(turn: Turn, name: str, subject: Subject) -> None:
    what = fact_name(turn.words, name, subject)
    if fact_key(subject, name) in turn.state.progress.noted:
        turn.keep(VisitFactWithdrawn(subject=subject, name=name))
        turn.tell("visit_fact_withdrawn", "answer", what=what)
    else:
        turn.tell("visit_fact_not_there", "repair", what=what)


def _how_to_say(turn: Turn, name: str) -> None:
    """An example for a name said without its value."""
    w, fact = turn.words, VISIT_FACTS[name]
    values = w.listed([shown_value(w, name, each) for each in fact.values])
    text = w.say(f"visit_fact_say_{fact.takes}", what=fact_name(w, name), values=values)
    turn.say(sentence(text), "repair")
