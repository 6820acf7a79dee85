"""The live panel as text; a broken terminal does not end the visit."""

from __future__ import annotations

import io

import numpy as np
from rich.console import Console

from handsfree.cli.live_view import View, meter, view_of
from handsfree.job.finding import Finding, Verdict
from handsfree.journal import events as ev
from handsfree.language.wording import Wording, wording
from handsfree.visit_record.glance import Glance, LiveState
from tests.journal.examples import READING

FINDING = Finding(
    rule="opening time",
    subject=READING.subject,
    quantity=READING.quantity,
    verdict=Verdict.PASS,
    reading="6.20",
    limit="3.5",
    bound="at least",
    unit="s",
    reading_id=READING.id,
)


EN, ES = wording("en"), wording("es")


def text_of(
    glance: Glance, level_db: float | None = None, width: int = 78, w: Wording = EN, place: str = ""
) -> str:
    out = io.StringIO()
    Console(file=out, width=width).print(view_of(glance, w, level_db, place))
    return out.getvalue()


def seen(*bodies: ev.Body) -> Glance:
    watching = LiveState()
    for seq, body in enumerate(bodies, 1):
        watching.apply(ev.Event(seq=seq, at="", body=body, prev=""))
    return watching.glance


def test_step_question_last_words_and_readings_with_their_limits_are_shown() -> None:
    glance = seen(
        ev.StepEntered(key="opening-time:left leaf"),
        ev.Said(text="Opening time?", role="prompt", aloud=True, seconds="1"),
        ev.Heard(text="nice weather", meaning=None),
        ev.ReadingAccepted(reading=READING),
        ev.Judged(findings=(FINDING,)),
        ev.Said(text="Pass.", role="finding", aloud=True, seconds="1"),
    )
    shown = text_of(glance, -20.0)
    for words in ("opening time, left leaf", "Opening time?", "nice weather  (not understood)"):
        assert words in shown
    row = next(line for line in shown.splitlines() if "6.20" in line)
    assert all(part in row for part in ("left leaf", "opening time", "at least 3.5 s", "pass"))
    assert "-20 dB" in shown
    assert "Pass." not in shown  # what is waited for stays


def test_a_reading_that_was_withdrawn_is_shown_no_more() -> None:
    glance = seen(ev.ReadingAccepted(reading=READING), ev.ReadingWithdrawn(reading_id=READING.id))
    assert glance.rows == ()


def test_a_fault_is_shown_until_it_is_over() -> None:
    lost = ev.Fault(what="microphone_lost")
    assert "I lost the microphone" in text_of(seen(lost), width=200)
    assert "microphone" not in text_of(seen(lost, ev.Fault(what="microphone_back")))


def test_the_meter_goes_from_silence_to_full_scale() -> None:
    assert str(meter(-90.0)).count("█") == 0
    assert str(meter(-30.0)).count("█") == 12
    assert str(meter(0.0)).count("█") == 24
    assert text_of(Glance(), None).count("dB") == 0


def test_the_step_is_shown_with_its_number() -> None:
    shown = text_of(Glance(step="sign"), place="12 of 60: Opening time of the left leaf")
    assert "12 of 60: Opening time of the left leaf" in shown


def test_a_spanish_visit_is_shown_in_spanish() -> None:
    heard = ev.Heard(text="buen clima", meaning=None)
    accepted, judged = ev.ReadingAccepted(reading=READING), ev.Judged(findings=(FINDING,))
    shown = text_of(seen(heard, accepted, judged), -20.0, width=120, w=ES)
    for words in ("paso", "buen clima  (no se entendió)", "hoja izquierda", "tiempo de apertura"):
        assert words in shown
    assert "al menos 3.5 s" in shown and "cumple" in shown
    for english in ("step", "heard", "level", "leaf", "reading", "limit", "at least", "pass "):
        assert english not in shown


def test_a_typed_line_is_wiped_before_the_panel_is_drawn_again() -> None:
    """The terminal showed the line in so many rows of its width, and went one row down."""
    for text, rows in (("yes", 1), ("left leaf opening time six point two seconds", 2)):
        out = io.StringIO()
        console = Console(file=out, force_terminal=True, width=40)
        with View(console, EN, echoes=True) as view:
            before = len(out.getvalue())
            heard = ev.Heard(text=text, meaning=None)
            view.before(ev.Event(seq=1, at="", body=heard, prev=""))
            assert out.getvalue()[before:] == "\x1b[1A\x1b[2K" * rows


def test_what_was_heard_leaves_the_panel_where_it_is() -> None:
    out = io.StringIO()
    spoken = ev.Heard(text="yes", meaning=None, start_s="1.0", end_s="1.5")
    with View(Console(file=out, force_terminal=True, width=40), EN, echoes=True) as view:
        before = len(out.getvalue())
        view.before(ev.Event(seq=1, at="", body=spoken, prev=""))
        assert len(out.getvalue()) == before


def test_it_fits_a_narrow_terminal() -> None:
    glance = seen(ev.Said(text="word " * 60, role="prompt", aloud=True, seconds="1"))
    assert all(len(line) <= 40 for line in text_of(glance, -20.0, width=40).splitlines())


class Gone(io.StringIO):
    """A terminal that was closed."""

    tries = 0

    def write(self, text: str) -> int:
        self.tries += 1
        raise OSError("the terminal is gone")


def test_a_terminal_that_is_gone_ends_the_panel_and_nothing_else() -> None:
    event = ev.Event(seq=1, at="", body=ev.StepEntered(key="sign"), prev="")
    terminal = Gone()
    with View(Console(file=terminal, force_terminal=True, width=60), EN) as view:
        tried = terminal.tries
        view(event)
        view.hear(np.zeros(320, np.int16))
        view(event)
    assert terminal.tries == tried > 0


def test_the_level_is_shown_ten_times_a_second_at_most() -> None:
    now_s = [100.0]
    out = io.StringIO()
    console = Console(file=out, force_terminal=True, width=60)
    with View(console, EN, now_s=lambda: now_s[0]) as view:
        view.hear(np.full(320, 3000, np.int16))
        once = len(out.getvalue())
        for _ in range(20):
            view.hear(np.full(320, 3000, np.int16))
        assert len(out.getvalue()) == once
        now_s[0] += 0.2
        view.hear(np.full(320, 3000, np.int16))
        assert len(out.getvalue()) > once
