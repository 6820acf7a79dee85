"""Asks at the door for a feature that the job file does not state."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.door_survey import first_missing
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.door_feature import ANSWERS, FEATURES, UNKNOWN, DoorFeature
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.door_words import feature_name, feature_question, value_name
from handsfree.language.meaning import Choice, FactSaid, Word


class DoorFeatureQuestion(Question):
    """Asks for a feature of the opening, by its name in door_features.toml.

    *I don't know* is accepted if the visit can do without the answer.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        words=frozenset({"affirm", "negative", "dont_know"}), choices=frozenset(ANSWERS)
    )

    feature: str

    @property
    def _feature(self) -> DoorFeature:
        return FEATURES[self.feature]

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Files yes, no and *I don't know*; any other value is read back first."""
        match heard.meaning:
            case Word(kind="affirm" | "negative" as said) if self._feature.yes_or_no:
                return self._file(turn, heard, "yes" if said == "affirm" else "no")
            case Word(kind="affirm" | "negative" | "disregard"):
                self.repeat(turn)
                return None
            case Word(kind="dont_know") if self._feature.known:
                turn.tell("door_must_be_known", "repair")
                self.repeat(turn)
                return None
            case Word(kind="dont_know"):
                return self._file(turn, heard, UNKNOWN)
            case Choice(value="both", noun="side") if "both_sides" in self._feature.values:
                return self._said(heard, "both_sides")
            case Choice(value=value) if value in self._feature.values:
                return self._said(heard, value)
            case _:
                return heard

    def repeat(self, turn: Turn) -> None:
        """Asks for the feature ('Is there a fire label on the leaf or the frame?')."""
        turn.say(feature_question(turn.words, self.feature, Subject.OPENING), "prompt", asked=True)

    def hint(self, turn: Turn) -> str:
        """The possible answers."""
        w = turn.words
        if self._feature.yes_or_no:
            return w.say("door_yes_no")
        values = w.listed([value_name(w, self.feature, each) for each in self._feature.values])
        more = "" if self._feature.known else f" {w.say('door_more')}"
        return w.say("door_words", values=values) + more

    def _said(self, heard: Heard, value: str) -> Heard:
        """The complete statement that a value stands for."""
        fact = FactSaid(subject=Subject.OPENING, name=self.feature, value=value)
        return heard.model_copy(update={"meaning": fact})

    def _file(self, turn: Turn, heard: Heard, value: str) -> Heard:
        """Files the value and returns the utterance that continues the visit."""
        fact = Fact(subject=Subject.OPENING, name=self.feature, value=value)
        turn.wait_for(None)
        turn.keep(ev.FactAccepted(fact=fact))
        w = turn.words
        name, said = feature_name(w, self.feature), value_name(w, self.feature, value)
        turn.tell("door_known", "answer", what=name[:1].upper() + name[1:], value=said)
        return heard.model_copy(update={"meaning": Word(kind="carry_on")})


def ask_about_door(turn: Turn) -> bool:
    """Asks for the first feature of the door that the visit needs; False if none is missing."""
    missing = first_missing(turn.state.procedure, turn.job)
    if missing is not None:
        turn.ask(DoorFeatureQuestion(feature=missing))
    return missing is not None
