"""Takes a controller entry in the technician's own words, without a guide for this door."""

from __future__ import annotations

from handsfree.dialogue import guide_walk, navigation
from handsfree.dialogue.questions.code_shown import CodeShownQuestion
from handsfree.dialogue.questions.families import FreeWordsQuestion
from handsfree.dialogue.questions.guide_entry import go_on
from handsfree.dialogue.questions.skip_reason import ask_for_reason
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal.controller_events import EntryEnded
from handsfree.language.meaning import Choice, CodeSaid, EntrySaid, ReadingSaid, ReadingsSaid
from handsfree.language.wording import sentence
from handsfree.visit_record.controller_set_up import AS_FOUND, OWN

_COUNTS_AS_WORDS = (EntrySaid, ReadingSaid, ReadingsSaid, Choice)


class OwnEntryQuestion(FreeWordsQuestion):
    """Keeps the next utterance as an entry; ``entry`` is the guide's id, None without a guide."""

    entry: str | None = None

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the utterance; 'done' ends the set-up, 'negative' takes the last entry back."""
        meaning = heard.meaning
        if isinstance(meaning, CodeSaid):
            turn.ask(CodeShownQuestion(mark=meaning.mark, clip=heard.clip))
        elif meaning is None or isinstance(meaning, _COUNTS_AS_WORDS):
            self._keep(turn, heard)
        elif is_word(meaning, "say_again"):
            self.repeat(turn)
        elif self.entry is None and is_word(meaning, "done", "affirm"):
            turn.wait_for(None)
            navigation.end(turn, "done")
        elif self.entry is None and is_word(meaning, "skip"):
            ask_for_reason(turn)
        elif is_word(meaning, "skip") and self.entry is not None:
            guide_walk.ended(turn, self.entry, "left", clip=heard.clip)
            go_on(turn)
        elif self.entry is None and is_word(meaning, "negative", "disregard", "withdraw"):
            self._take_back(turn)
        else:
            if not is_word(meaning, "negative", "disregard", "done", "affirm"):
                return heard
            self.repeat(turn)
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for the entry and its value."""
        if self.entry is None:
            turn.tell("own_entry", "prompt")
            return
        each = guide_walk.worked_out(turn, self.entry)
        name = each.step.name if each is not None else ""
        turn.tell("guide_no_value", "prompt", what=name)

    def hint(self, turn: Turn) -> str:
        """The answers that fit ('Say the next entry and its value, or done.')."""
        return turn.words.say("own_entry")

    def _keep(self, turn: Turn, heard: Heard) -> None:
        if self.entry is not None:
            guide_walk.ended(turn, self.entry, "made", text=heard.text, clip=heard.clip)
            go_on(turn)
            return
        prefix = self._prefix(turn)
        nth = sum(each.startswith(prefix) for each in guide_walk.so_far(turn).entries) + 1
        guide_walk.ended(turn, f"{prefix}{nth}", "made", text=heard.text, clip=heard.clip)
        turn.tell("own_kept", "readback", text=sentence(heard.text).rstrip("."))

    def _prefix(self, turn: Turn) -> str:
        """Prefix of the ids: 'found-' for the old controller, 'own-' for the new one."""
        found = turn.task is not None and turn.task.step.guide == "as_found"
        return AS_FOUND if found else OWN

    def _take_back(self, turn: Turn) -> None:
        entries, prefix = guide_walk.so_far(turn).entries.values(), self._prefix(turn)
        made = [e for e in entries if e.outcome == "made" and e.entry.startswith(prefix)]
        if not made:
            turn.tell("guide_nothing_set", "repair")
            return
        turn.keep(EntryEnded(**{**made[-1].model_dump(exclude={"kind"}), "outcome": "left"}))
        turn.tell("own_dropped", "status", text=made[-1].text or made[-1].name)
