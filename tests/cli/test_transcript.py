"""The printed transcript of a visit as it happens."""

import io
import textwrap
from decimal import Decimal

from rich.console import Console
from rich.text import Text

from handsfree.cli.console import new_console
from handsfree.cli.transcript import Conversation
from handsfree.journal import events as ev
from handsfree.journal.controller_events import EntryEnded
from handsfree.language.wording import wording

MISSED = ev.Heard(text="the frame is bent", meaning=None)
AGAIN = ev.Said(text="Say again.", role="repair", aloud=True, seconds=Decimal("0.5"))


def printed(*bodies: ev.Body) -> list[str]:
    out = io.StringIO()
    show = Conversation(Console(file=out, width=100), wording("en"))
    for seq, body in enumerate(bodies, 1):
        show(ev.Event(seq=seq, at="2026-03-04T09:15:02.120Z", body=body, prev="0" * 64))
    return [" ".join(line.split()) for line in out.getvalue().splitlines()]


def test_what_fits_nowhere_is_printed_as_not_understood() -> None:
    assert printed(MISSED, AGAIN)[0] == "heard the frame is bent (not understood)"


def test_the_words_of_a_note_a_reason_or_a_name_are_kept_as_they_were_said() -> None:
    kept = "heard the frame is bent (kept as it was said)"
    assert printed(MISSED, ev.NoteKept(step_key=None, text=MISSED.text, clip=None)) == [kept]
    skipped = ev.StepEnded(key="sign", outcome="skipped", reason=MISSED.text)
    assert printed(MISSED, skipped) == [kept]
    accepted = ev.OpenSettled(key="search/slams", word="accepted", by=MISSED.text)
    assert printed(MISSED, accepted) == [kept]
    entry = EntryEnded(entry="own-1", outcome="made", name="entry", text=MISSED.text)
    assert printed(MISSED, entry) == [kept]


def test_while_standing_by_everything_is_printed_at_once() -> None:
    assert printed(ev.StoodBy(stop=False), MISSED) == ["heard the frame is bent (not understood)"]


def test_a_fault_is_printed_before_it_is_said_and_not_twice() -> None:
    sentence = wording("en").say("fault_microphone_lost")
    lost = ev.Fault(what="microphone_lost", detail="gone")
    said = ev.Said(text=sentence, role="status", aloud=True, seconds=Decimal("4.1"))
    assert printed(lost) == [f"tool {sentence}"]
    assert printed(lost, said) == [f"tool {sentence}"]
    assert printed(said) == [f"tool {sentence}"]


def test_a_loudspeaker_that_went_and_came_is_printed() -> None:
    both = printed(ev.Fault(what="loudspeaker_lost"), ev.Fault(what="loudspeaker_back"))
    assert [line.split(".")[0] for line in both] == [
        "tool I lost the loudspeaker and I'm looking for it",
        "tool The loudspeaker is back",
    ]


def on_a_terminal(text: str, width: int) -> str:
    out = io.StringIO()
    show = Conversation(Console(file=out, width=width, force_terminal=True), wording("en"))
    said = ev.Said(text=text, role="prompt", aloud=True, seconds=Decimal("1"))
    show(ev.Event(seq=1, at="2026-03-04T09:15:02.120Z", body=said, prev="0" * 64))
    return out.getvalue()


def test_only_the_name_of_the_speaker_is_dim() -> None:
    shown = Text.from_ansi(on_a_terminal("Close off the opening.", 60))
    dim = [shown.plain[span.start : span.end] for span in shown.spans if "dim" in str(span.style)]
    assert "".join(dim).split() == ["tool"]


def test_no_word_is_broken_at_the_edge_of_a_terminal() -> None:
    """Against textwrap of the standard library."""
    text = "Close off the opening to people, and send them another way. " * 3
    for width in (30, 41, 57, 80):
        lines = Text.from_ansi(on_a_terminal(text, width)).plain.splitlines()
        assert [line[10:].rstrip() for line in lines] == textwrap.wrap(text, width - 10)


def test_a_pipe_gets_a_sentence_in_one_line() -> None:
    said = ev.Said(text="word " * 60, role="prompt", aloud=True, seconds=Decimal("1"))
    out = io.StringIO()
    show = Conversation(new_console(file=out, width=40, soft_wrap=True), wording("en"))
    show(ev.Event(seq=1, at="2026-03-04T09:15:02.120Z", body=said, prev="0" * 64))
    assert len(out.getvalue().splitlines()) == 1
