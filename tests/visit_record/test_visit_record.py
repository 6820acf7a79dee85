"""The record built from the journal shows the office's corrections and loses nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from handsfree.checks.evaluate import changed
from handsfree.checks.limits import load_limits
from handsfree.dialogue.state import Say
from handsfree.errors import JournalError
from handsfree.job.finding import Verdict
from handsfree.job.job import Job
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.reader import Verification
from handsfree.journal.writer import Journal
from handsfree.language.meaning import MEANING
from handsfree.reports.summary import summary_of
from handsfree.reports.summary_text import summary_text
from handsfree.visit_record.load import load_record
from handsfree.visit_record.progress import fold_job, job_of
from handsfree.visit_record.visit_record import VisitRecord, record_of

from ..reports.test_summary import journal
from ..talk import Talk

WHOLE = Verification(whole=True, lines=1, clips=0, recovered=0, head="a" * 64)
AT = datetime(2100, 1, 2, tzinfo=UTC)


def measure(value: str, unit: Unit = Unit.SECOND) -> Measure:
    return Measure(value=Decimal(value), unit=unit)


def and_office(events: list[ev.Event], *bodies: ev.Body) -> list[ev.Event]:
    """The journal with more lines; an amendment or a strike is judged after it, as it must be."""
    limits = load_limits("a156.19")
    job: Job | None = job_of(events)
    out = list(events)
    for body in bodies:
        before, job = job, fold_job(job, body)
        out.append(_event(out, body))
        found = changed(before, job, limits)
        if found:
            out.append(_event(out, ev.Judged(findings=found)))
    return out


def _event(before: list[ev.Event], body: ev.Body) -> ev.Event:
    at = (AT + timedelta(seconds=len(before))).isoformat(timespec="milliseconds")
    seq = len(before) + 1
    return ev.Event(seq=seq, at=at.replace("+00:00", "Z"), body=body, prev=f"{seq:064x}")


def hears(talk: Talk, *lines: str) -> None:
    """What the shell does beside the conversation: it keeps what was heard and what was said."""
    for line in lines:
        meaning = talk.language.parse(line)
        kept = None if meaning is None else MEANING.dump_python(meaning, mode="json")
        talk.kept.append(ev.Heard(text=line, meaning=kept))
        before = len(talk.replies)
        talk.says(line)
        for reply in talk.replies[before:]:
            if isinstance(reply, Say):
                said = ev.Said(text=reply.text, role=reply.role, aloud=False, seconds=Decimal(0))
                talk.kept.append(said)


def record(events: list[ev.Event]) -> VisitRecord:
    return record_of(events, WHOLE)


@pytest.fixture
def spoken(talk):
    """As found 2.5 s (fails), as left 4.5 s; a note; a skipped step; one thing not understood."""
    talk.go_to("swings-free:left leaf")
    hears(talk, "not in order", "affirm", "the pivot grinds", "in order", "affirm")
    talk.go_to("opening-time:left leaf")
    hears(talk, "two point five", "affirm", "mumble mumble", "four point five", "affirm")
    hears(talk, "skip", "no stopwatch here")
    return journal(talk)


def amended(reading_id: str, old: str, new: str, by: str = "Ada") -> office.ReadingAmended:
    return office.ReadingAmended(
        reading_id=reading_id, old=measure(old), new=measure(new), by=by, why="heard again"
    )


def test_a_reading_tells_where_it_was_heard_and_whether_as_found_or_as_left(spoken):
    found, left = record(spoken).readings
    assert (found.place, left.place) == ("as found", "as left")
    assert (found.heard, left.heard) == ("two point five", "four point five")
    heard = next(u for u in record(spoken).utterances if u.seq == left.heard_seq)
    assert heard.heard == "four point five" and heard.taken_for == "4.5"
    assert left.seq > left.heard_seq
    assert left.findings and all(f.verdict is Verdict.PASS for f in left.findings)
    assert any(f.verdict is Verdict.FAIL for f in found.findings)


def test_an_amendment_shows_old_and_new_and_is_judged_anew_in_dossier_and_summary(spoken):
    seen = record(and_office(spoken, amended("r2", "4.5", "2.9")))
    item = seen.reading("r2")
    assert (item.accepted.value, item.now.value) == (Decimal("4.5"), Decimal("2.9"))
    (change,) = item.amendments
    assert (str(change.old), str(change.new), change.by) == ("4.5 s", "2.9 s", "Ada")
    assert any(f.verdict is Verdict.FAIL for f in item.findings)
    assert seen.quantities[0].as_left == (Decimal("2.9"),)
    assert "left leaf: opening time" in summary_of(seen).not_in_order
    assert seen.amended == 1
    assert "left leaf/opening time" in [matter.key for matter in seen.undecided]
    assert summary_of(seen).verdict.count("Not OK")


def test_an_amendment_that_is_not_judged_yet_keeps_no_verdict_of_the_old_value(spoken):
    events = [*spoken, _event(spoken, amended("r2", "4.5", "1.0"))]
    seen = record(events)
    assert seen.reading("r2").findings == () and seen.quantities[0].findings == ()


def test_an_amended_first_attempt_leaves_the_verdict_of_what_was_left(spoken):
    seen = record([*spoken, _event(spoken, amended("r1", "2.5", "3.9"))])
    assert seen.reading("r1").findings == ()
    assert {f.verdict for f in seen.reading("r2").findings} == {Verdict.PASS}
    assert {f.verdict for f in seen.quantities[0].findings} == {Verdict.PASS}


def test_a_struck_reading_is_out_and_what_was_before_it_rules_again(spoken):
    struck = office.ReadingStruck(reading_id="r2", by="Ada", why="said to a colleague")
    seen = record(and_office(spoken, struck))
    item = seen.reading("r2")
    assert item.gone is not None and (item.gone.how, item.gone.by) == ("struck", "Ada")
    assert item.place is None and item not in seen.standing
    assert seen.reading("r1").place == "as found and as left"
    assert seen.quantities[0].as_left == (Decimal("2.5"),)
    assert summary_of(seen).not_in_order and seen.struck == 1
    assert "By the office: no readings amended, 1 struck." in summary_text(summary_of(seen))
    assert "By the office" not in summary_text(summary_of(record(spoken)))


def test_a_confirmation_holds_until_the_value_is_changed(spoken):
    confirmed = office.ReadingConfirmed(reading_id="r2", by="Ada")
    seen = record(and_office(spoken, confirmed))
    assert seen.reading("r2").confirmed_by == "Ada"
    seen = record(and_office(spoken, confirmed, amended("r2", "4.5", "4.4")))
    assert seen.reading("r2").confirmed_by is None
    assert len(seen.reading("r2").confirmations) == 1


def test_what_was_not_understood_is_told_from_what_was_kept_as_it_was(spoken):
    by_text = {each.heard: each for each in record(spoken).utterances}
    assert not by_text["mumble mumble"].understood and by_text["mumble mumble"].kept_as is None
    assert by_text["the pivot grinds"].kept_as == "note"
    assert by_text["no stopwatch here"].kept_as == "reason"
    filed = by_text["four point five"]
    assert filed.came_of and filed.came_of[0].startswith("read back:"), filed


def test_matters_are_what_is_wrong_and_what_was_skipped_until_the_office_decides(spoken):
    seen = record(spoken)
    assert {(m.kind, m.key) for m in seen.open_items} >= {
        ("not OK", "left leaf/swings_freely"),
        ("skipped", "hold-open:left leaf"),
    }
    skipped = next(m for m in seen.open_items if m.kind == "skipped")
    assert skipped.reason == "no stopwatch here"
    decided = office.OpenDecided(
        key="left leaf/swings_freely", decision="return_visit", by="Ada", why="pivot ordered"
    )
    fixed = office.FactAmended(
        subject=Subject.LEFT_LEAF,
        name="swings_freely",
        old="not_in_order",
        new="in_order",
        by="Ada",
        why="wrong leaf",
    )
    seen = record(and_office(spoken, decided))
    matter = next(m for m in seen.open_items if m.key == decided.key)
    assert matter.decision is not None and matter.decision.decision == "return_visit"
    assert matter not in seen.undecided
    keys = [m.key for m in record(and_office(spoken, decided, fixed)).open_items]
    assert decided.key not in keys


def test_notes_and_meanings_take_the_office_s_words_and_keep_what_was_heard(spoken):
    note = record(spoken).notes[0]
    missed = next(u for u in record(spoken).utterances if u.heard == "mumble mumble")
    seen = record(
        and_office(
            spoken,
            office.NoteAmended(
                seq=note.seq, old=note.text, new="the pivot grinds", by="A", why="w"
            ),
            office.MeaningAmended(seq=missed.seq, old="", new="talk to the guard", by="A", why="w"),
        )
    )
    assert seen.notes[0].text == note.text and seen.notes[0].now == "the pivot grinds"
    heard = next(u for u in seen.utterances if u.seq == missed.seq)
    assert heard.amendments[0].new == "talk to the guard" and not heard.understood
    assert [act.kind for act in seen.office] == ["note_amended", "meaning_amended"]


def test_a_sign_off_holds_until_anything_but_a_sign_off_follows(spoken):
    first = and_office(spoken)
    prev = _event(first, ev.VisitClosed()).prev
    signed = office.SignedOff(by="Ada", head=prev)
    seen = record(and_office(spoken, signed))
    assert seen.signed and seen.sign_off.by == "Ada"
    again = and_office(spoken, signed)
    both = [*again, _event(again, office.SignedOff(by="Bo", head=f"{len(again) + 1:064x}"))]
    assert [each.valid for each in record(both).sign_offs] == [True, True]
    after = and_office(spoken, signed, office.ReadingConfirmed(reading_id="r2", by="Bo"))
    assert not record(after).signed
    wrong = office.SignedOff(by="Ada", head="f" * 64)
    assert not record(and_office(spoken, wrong)).signed


def test_office_acts_do_not_stretch_the_visit(spoken):
    seen = record(and_office(spoken, office.ReadingConfirmed(reading_id="r2", by="Ada")))
    assert seen.ended == spoken[-1].at == summary_of(seen).ended


def test_doubt_puts_the_reading_first_that_a_small_slip_would_turn(spoken):
    near = record(and_office(spoken, amended("r2", "4.5", "3.55")))
    far = record(spoken)
    assert near.by_doubt[0].id == "r2" and near.by_doubt[0].doubt.why
    assert near.reading("r2").doubt.score > far.reading("r2").doubt.score
    assert all(0 <= item.doubt.score <= 1 for item in near.readings)


def test_a_broken_journal_gives_what_is_whole_with_where_and_why(tmp_path, spoken):
    folder = tmp_path / "visit"
    with Journal.create(folder) as kept:
        for event in spoken:
            kept.append(event.body, AT)
    assert load_record(folder).head is not None
    path = folder / "journal.jsonl"
    lines = path.read_bytes().split(b"\n")
    at = next(nth for nth, line in enumerate(lines) if b'"4.5"' in line and b"accepted" in line)
    lines[at] = lines[at].replace(b'"4.5"', b'"9.5"')
    path.write_bytes(b"\n".join(lines))
    seen = load_record(folder)
    assert seen.head is None and not seen.verification.whole
    assert seen.verification.broken.line == at + 1
    assert [item.id for item in seen.readings] == ["r1"]
    lines[0] = b"{}"
    path.write_bytes(b"\n".join(lines))
    with pytest.raises(JournalError, match="line 1"):
        load_record(folder)


@pytest.mark.slow
def test_no_journal_is_an_error_that_says_so(tmp_path):
    with pytest.raises(JournalError, match="no journal here"):
        load_record(tmp_path)
