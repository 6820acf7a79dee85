"""What is printed of a visit as it happens."""

import io
from decimal import Decimal

from rich.console import Console

from handsfree.cli.transcript import Conversation
from handsfree.journal import events as ev
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
        "tool The loudspeaker is gone",
        "tool The loudspeaker is there again",
    ]
