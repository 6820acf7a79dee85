"""A setting of the guide and what it was set to, read back."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from handsfree.controllers.guide import Setting
from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue import navigation
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.journal.controller_events import EntryEnded
from handsfree.language.wording import sentence


class SettingEntryQuestion(YesNoQuestion):
    """A setting that no reading of a visit is, such as what it does at something in the way.

    ``setting`` is its id in the guide, ``value`` on its scale, ``clip`` the sound of the words.
    """

    keeps_sound: ClassVar[bool] = True

    setting: str
    value: Decimal
    clip: str | None = None

    def affirm(self, turn: Turn) -> None:
        """Keeps it with the entries of the door, and says how it is saved."""
        turn.wait_for(None)
        setting = self._setting(turn)
        if setting is not None:
            turn.keep(
                EntryEnded(
                    entry=f"setting-{setting.id}",
                    outcome="made",
                    name=setting.name,
                    called=setting.called,
                    value=texts.value(turn.words, self.value),
                    clip=self.clip,
                )
            )
            turn.say(sentence(setting.save or ""), "advice")
        if not turn.led:
            navigation.prompt_again(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads it back ('Entry twenty eight, obstacle reversal, four ...')."""
        setting = self._setting(turn)
        if setting is not None:
            parts = (setting.called, setting.name, texts.value(turn.words, self.value))
            turn.tell("guide_code", "readback", code=sentence(", ".join(parts)).rstrip("."))

    def _setting(self, turn: Turn) -> Setting | None:
        settings = turn.guide.settings if turn.guide is not None else ()
        return next((each for each in settings if each.id == self.setting), None)
