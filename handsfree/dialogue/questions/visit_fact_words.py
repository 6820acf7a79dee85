"""Asks for the free words of a visit fact: a make, the parts used, who takes over."""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.questions.families import FreeWordsQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.visit_fact_filing import keep_fact
from handsfree.job.reading import Subject, Taken
from handsfree.job.visit_fact import LONGEST_WORDS
from handsfree.language.visit_fact_words import fact_name
from handsfree.language.wording import sentence


class VisitFactWordsQuestion(FreeWordsQuestion):
    """Keeps the next utterance as the fact's words: its sound, or the typed text."""

    fact: str
    subject: Subject

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the utterance, whatever was recognized; 'disregard' keeps nothing."""
        if is_word(heard.meaning, "say_again"):
            self.repeat(turn)
        elif is_word(heard.meaning, "disregard", "skip"):
            self.disregard(turn)
        else:
            turn.wait_for(None)
            # A recognized name is not reliable: its sound is what counts, if there is any.
            told = heard.text if heard.taken is Taken.TYPED or heard.clip is None else ""
            value = "".join(c for c in told if c.isprintable())[:LONGEST_WORDS]
            keep_fact(turn, self.fact, self.subject, value, heard.clip)
            navigation.prompt_again(turn)
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for the words ('Go ahead: parts used.')."""
        what = fact_name(turn.words, self.fact, self.subject)
        turn.say(sentence(turn.words.say("visit_fact_go_ahead", what=what)), "readback")
