"""What is not understood, and what is kept as it was said: notes and reasons."""

from __future__ import annotations

from handsfree.dialogue import answers, orient, walk
from handsfree.dialogue.pending import AskedNote
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import is_word
from handsfree.journal import events as ev


def miss(turn: Turn) -> None:
    """Not understood: say again, then an example, then spelling, then typing.

    The help grows with the misses in a row, as prompts do with W3C VoiceXML 2.1's
    event counts; anything understood begins anew.
    """
    misses = turn.state.misses + 1
    turn.set(misses=misses)
    if misses == 1:
        turn.tell("say_again", "repair")
    elif misses == 2:
        turn.say(orient.fitting(turn) or turn.words.say("say_again"), "repair")
    elif misses == 3:
        turn.tell("spell_or_type", "repair")
    else:
        turn.tell("type_it", "repair")


def note(turn: Turn, heard: Heard) -> None:
    """'Note' with the note behind it is kept; alone, the next utterance is the note."""
    if heard.text.split()[1:]:
        _keep(turn, heard)
        _go_back_to_it(turn)
    else:
        turn.wait_for(AskedNote())
        turn.tell("note_go_ahead", "readback")


def take_note(turn: Turn, heard: Heard, asked: AskedNote) -> None:
    """Keeps the utterance as a note, whatever was heard in it."""
    if is_word(heard.meaning, "disregard"):
        turn.wait_for(None)
        if asked.defect:
            walk.end(turn, "failed")
        else:
            answers.drop(turn)
    elif is_word(heard.meaning, "say_again"):
        turn.tell("what_is_wrong" if asked.defect else "note_go_ahead", "readback")
    else:
        turn.wait_for(None)
        _keep(turn, heard)
        if asked.defect:
            walk.end(turn, "failed")
        else:
            walk.prompt_again(turn)


def take_reason(turn: Turn, heard: Heard) -> None:
    """Skips the task at hand with the utterance as its reason."""
    if is_word(heard.meaning, "disregard", "negative"):
        answers.drop(turn)
    elif is_word(heard.meaning, "say_again"):
        turn.tell("skip_reason", "readback")
    else:
        turn.wait_for(None)
        walk.end(turn, "skipped", heard.text, heard.clip)


def _keep(turn: Turn, heard: Heard) -> None:
    at = turn.state.progress.at
    turn.keep(ev.NoteKept(step_key=at, text=heard.text, clip=heard.clip))
    turn.tell("note_kept", "status")


def _go_back_to_it(turn: Turn) -> None:
    if not answers.ask_again(turn):
        walk.prompt_again(turn)
