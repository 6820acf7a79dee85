"""The office over HTTP: pages, changes, confirmations and refusals."""

from __future__ import annotations

import json
import re
import shutil
import threading
from datetime import UTC, datetime

import pytest
from click.testing import CliRunner
from PIL import Image

from handsfree.cli import main
from handsfree.journal import events as ev
from handsfree.journal import office_events as acts
from handsfree.journal.photo_files import PICTURES
from handsfree.journal.reader import CLIPS, JOURNAL, read, verify
from handsfree.journal.writer import Journal
from handsfree.office.review_plan import review_plan
from handsfree.visit_record.load import load_record

from .house import Desk, hidden_of, office_at

AT = datetime(2100, 3, 5, tzinfo=UTC)


def last(visits, count=1):
    return [event.body for event in read(visits / "harbour")[-count:]]


def decide_all(desk, visit):
    for nth, key in enumerate(("right leaf/closing force", "cycles"), start=1):
        sent = {"kind": "decide", "key": key, "decision": "return_visit", "why": "next week"}
        answer = desk.change(visit, at=f"matter-{nth}", **sent)
        assert answer.headers["location"] == f"{visit}#matter-{nth}"


def confirm_all(desk, visit, visits):
    for item in load_record(visits / "harbour").standing:
        answer = desk.change(visit, kind="confirm", reading_id=item.id)
        assert answer.status_code == 303, answer.text


@pytest.mark.slow
def test_the_list_leads_to_the_visit(desk):
    assert "Not reviewed, 42 readings to confirm, 2 matters to decide" in desk.page("/")
    page = desk.page(desk.visit())
    assert "right leaf: closing force 17 lbf, at most 15 lbf" in page
    assert "Listen and confirm" in page and "You are <b>A. Okoro</b>" in page


def test_searched_and_filtered(desk):
    assert "/visit/" in desk.page("/?q=WASHER+almeda")
    assert "No visit is like that" in desk.page("/?q=elsewhere")
    assert "/visit/" in desk.page("/?only=not-in-order")
    assert "No visit is like that" in desk.page("/?only=due")
    for odd in ("/?only=rubbish", "/?page=-1", "/?page=99999999999", "/?q=" + "x" * 5000):
        assert "<h1>Visits</h1>" in desk.page(odd)


@pytest.mark.slow
def test_a_change_is_in_the_journal_with_name_reason_and_judgement(desk, visits):
    visit = desk.visit()
    answer = desk.change(
        visit, kind="amend", reading_id="r31", new="3.2", why="so it is heard", at="reading-r31"
    )
    assert (answer.status_code, answer.headers["location"]) == (303, f"{visit}#reading-r31")
    amended, judged = last(visits, 2)
    assert (amended.by, amended.why, str(amended.new)) == ("A. Okoro", "so it is heard", "3.2 s")
    assert isinstance(judged, ev.Judged)
    assert verify(visits / "harbour").whole
    page = desk.page(visit)
    assert "was 4.4 s, corrected to 3.2 s by A. Okoro" in page
    assert "right leaf: opening time 3.2 s, at least 3.5 s" in page


@pytest.mark.slow
def test_everything_can_be_changed_and_then_signed_off(desk, visits):
    visit = desk.visit()
    seen = load_record(visits / "harbour")
    missed = next(u for u in seen.utterances if not u.understood and not u.kept_as)
    for fields in (
        {"kind": "strike", "reading_id": "r40", "why": "the same one twice"},
        {"kind": "fact", "subject": "left leaf", "name": "weight_source", "new": "scale"},
        {"kind": "meaning", "seq": str(missed.seq), "new": "a passer-by"},
        {"kind": "note", "seq": str(seen.notes[0].seq), "new": "a new pivot"},
    ):
        answer = desk.change(visit, **({"why": "listened"} | fields))
        assert answer.status_code == 303, answer.text
    refused = desk.change(visit, kind="sign")
    assert refused.status_code == 422 and "cannot be signed off yet" in refused.text
    assert "Before it can be signed off" in desk.page(visit)
    decide_all(desk, visit)
    # The reading that was struck had proved it right.
    unproved = {"key": "left leaf/opening time", "decision": "return_visit", "why": "next week"}
    assert desk.change(visit, kind="decide", **unproved).status_code == 303
    confirm_all(desk, visit, visits)
    assert "Everything is decided" in desk.page(visit)
    head = verify(visits / "harbour").head
    assert desk.change(visit, kind="sign", by="J. Lind").status_code == 303
    assert last(visits) == [acts.SignedOff(by="J. Lind", head=head)]
    assert "Signed off by J. Lind" in desk.page("/")
    assert verify(visits / "harbour").whole
    assert desk.change(visit, kind="amend", reading_id="r1", new="37", why="x").status_code == 303
    assert "Changed since J. Lind signed it off" in desk.page("/")
    assert "it needs a new sign-off" in desk.page(visit)


@pytest.mark.slow
def test_verify_says_no_after_a_change_outside_the_tool(desk, visits):
    visit = desk.visit()
    desk.change(visit, kind="amend", reading_id="r31", new="3.2", why="so it is heard")
    file = visits / "harbour" / JOURNAL
    file.write_bytes(file.read_bytes().replace(b'"so it is heard"', b'"so it was heard"'))
    broken = verify(visits / "harbour").broken
    assert broken is not None
    page = desk.page(visit)
    assert f"The journal is broken at line {broken.line}" in page
    assert "leaf width" in page  # what is whole is shown
    assert 'value="sign"' not in page and 'class="correct"' not in page
    assert f"the journal is broken at line {broken.line}" in page  # why it cannot be signed
    assert desk.change(visit, page, kind="confirm", reading_id="r1").status_code == 403
    listed = desk.page("/")
    assert "The journal is broken: line" in listed and 'only=broken">Broken <b>1</b>' in listed


@pytest.mark.slow
def test_a_broken_clip_is_told_and_nothing_can_be_signed(desk, visits):
    visit = desk.visit()
    clip = sorted((visits / "harbour" / CLIPS).iterdir())[5]
    clip.write_bytes(b"no sound")
    page = desk.page(visit)
    assert "The journal is broken at line" in page and clip.name in page
    assert desk.change(visit, page, kind="sign").status_code == 422
    assert "its clip" in desk.page("/?only=broken")


@pytest.mark.slow
def test_an_unfinished_line_is_set_aside_from_the_page(desk, visits):
    visit = desk.visit()
    with (visits / "harbour" / JOURNAL).open("ab") as file:
        file.write(b'{"at":"2100-03')
    page = desk.page(visit)
    assert "It can be set aside" in page
    assert desk.send(f"{visit}/set-aside", page).status_code == 303
    assert "It can be set aside" not in desk.page(visit)
    assert verify(visits / "harbour").recovered == 1


@pytest.mark.slow
def test_two_people_lose_nothing(house, visits):
    one, two = Desk(house, "A. Okoro"), Desk(house, "J. Lind")
    visit = one.visit()
    page = one.page(visit)
    first = one.change(visit, page, kind="amend", reading_id="r31", new="4.5", why="heard")
    assert first.status_code == 303
    other = two.change(visit, page=_of(two, visit, page), kind="confirm", reading_id="r32")
    assert other.status_code == 303  # another reading: nothing to ask
    asked = two.change(
        visit, page=_of(two, visit, page), kind="amend", reading_id="r31", new="4.6", why="mine"
    )
    assert asked.status_code == 409
    assert "corrected right leaf, opening time (r31) from 4.4 s to 4.5 s" in asked.text
    assert "(r31): 4.6" in asked.text and "<b>A. Okoro</b>" in asked.text
    assert last(visits)[0].kind == "reading_confirmed"  # nothing was written yet
    again = two.send(
        f"{visit}/change", asked.text, kind="amend", reading_id="r31", new="4.6", why="mine"
    )
    assert again.status_code == 303
    seen = load_record(visits / "harbour").reading("r31")
    assert [str(each.new) for each in seen.amendments] == ["4.5 s", "4.6 s"]


def _of(desk, visit, page):
    """The page as it was, with the session of somebody else."""
    mine, theirs = hidden_of(desk.page(visit), "csrf"), hidden_of(page, "csrf")
    return page.replace(theirs, mine)


@pytest.mark.slow
def test_two_people_confirm_together_and_neither_what_the_other_changed(house, visits):
    """Both draw, and one sample stands; what was changed meanwhile is asked again, then refused."""
    one, two = Desk(house, "A. Okoro"), Desk(house, "J. Lind")
    visit = one.visit()
    for desk in (one, two):
        drawn = desk.change(visit, kind="sample", **{"from": "listen"})
        assert drawn.headers["location"] == f"{visit}/listen"
    assert len(load_record(visits / "harbour").samples) == 1
    plan = review_plan(load_record(visits / "harbour"))
    rest = " ".join(item.id for item in plan.together)
    early = one.change(visit, kind="together", reading_ids=rest)
    assert early.status_code == 422 and "is to be listened to first" in early.text
    for item in plan.listen:
        assert one.change(visit, kind="confirm", reading_id=item.id).status_code == 303
    pages = {desk: desk.page(f"{visit}/listen") for desk in (one, two)}
    amended = {"kind": "amend", "reading_id": plan.together[0].id, "why": "x", "sure": "true"}
    new = str(plan.together[0].now.value + 1)
    assert one.change(visit, pages[one], new=new, **amended).status_code == 303
    asked = two.change(visit, pages[two], kind="together", reading_ids=rest)
    assert asked.status_code == 409 and "Somebody was there first" in asked.text
    still = two.change(visit, asked.text, kind="together", reading_ids=rest)
    assert still.status_code == 422 and "cannot be confirmed together" in still.text
    # The new value can bring other readings close to a limit: those are listened to before.
    for item in review_plan(load_record(visits / "harbour")).listen:
        assert two.change(visit, kind="confirm", reading_id=item.id).status_code == 303
    left = " ".join(review_plan(load_record(visits / "harbour")).ready)
    assert two.change(visit, kind="together", reading_ids=left).status_code == 303
    assert last(visits) == [acts.ReadingsConfirmed(reading_ids=tuple(left.split()), by="J. Lind")]
    assert plan.together[0].id not in left.split()
    assert one.change(visit, pages[one], kind="together", reading_ids=left).status_code == 409


@pytest.mark.slow
def test_nobody_chooses_what_is_drawn(desk, visits):
    """A seed that comes with the form is not taken."""
    desk.change(desk.visit(), kind="sample", seed="mine")
    (drawn,) = last(visits)
    assert isinstance(drawn, acts.SampleDrawn) and len(drawn.seed) == 32


@pytest.mark.slow
def test_ten_changes_at_once_are_ten_changes(house, visits):
    desks = [Desk(house, f"Person {n}") for n in range(5)]
    visit = desks[0].visit()
    pages = [desk.page(visit) for desk in desks]
    answers = []

    def work(nth):
        for reading in (2 * nth + 1, 2 * nth + 2):
            answers.append(
                desks[nth].change(visit, pages[nth], kind="confirm", reading_id=f"r{reading}")
            )

    threads = [threading.Thread(target=work, args=(n,)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [303] * 10
    confirmed = [body for body in last(visits, 10) if isinstance(body, acts.ReadingConfirmed)]
    assert {body.reading_id for body in confirmed} == {f"r{n}" for n in range(1, 11)}
    assert verify(visits / "harbour").whole


@pytest.mark.slow
def test_a_visit_that_is_being_written_is_refused_and_what_was_typed_is_kept(
    desk, visits, monkeypatch
):
    monkeypatch.setattr("handsfree.office.form_responses.PATIENCE_S", 0.2)
    visit = desk.visit()
    page = desk.page(visit)
    with Journal.open(visits / "harbour", AT):
        answer = desk.change(visit, page, kind="amend", reading_id="r31", new="4.5", why="heard")
        assert answer.status_code == 423
        assert "This visit is being written just now" in answer.text
        assert hidden_of(answer.text, "new") == "4.5" and hidden_of(answer.text, "why") == "heard"
        assert desk.page(visit)  # it can be looked at meanwhile
    sent = {"kind": "amend", "reading_id": "r31", "new": "4.5", "why": "heard"}
    assert desk.send(f"{visit}/change", answer.text, **sent).status_code == 303


@pytest.mark.slow
def test_a_change_waits_for_another_that_takes_a_moment(desk, visits):
    visit = desk.visit()
    page = desk.page(visit)
    journal = Journal.open(visits / "harbour", AT)
    threading.Timer(0.3, journal.close).start()
    assert desk.change(visit, page, kind="confirm", reading_id="r1").status_code == 303


@pytest.mark.slow
@pytest.mark.parametrize(
    ("new", "told"),
    [
        ("44", "not a plausible opening time"),
        ("4.5 kg", "no unit of time"),
        ("4.4", "value is already 4.4"),
    ],
)
def test_a_value_that_cannot_be_comes_back_with_the_reason(desk, visits, new, told):
    visit = desk.visit()
    before = verify(visits / "harbour").lines
    answer = desk.change(visit, kind="amend", reading_id="r31", new=new, why="my reason")
    assert answer.status_code == 422 and told in answer.text
    assert f'value="{new}"' in answer.text and "my reason" in answer.text
    assert verify(visits / "harbour").lines == before
    if new == "44":
        sure = {"kind": "amend", "reading_id": "r31", "new": new, "why": "x", "sure": "true"}
        assert "it really was so" in answer.text
        assert desk.change(visit, **sure).status_code == 303


@pytest.mark.slow
def test_limits_that_are_not_those_of_the_visit_judge_nothing(waiting, tmp_path):
    """The visit names a limit set whose file has changed since."""
    folder = tmp_path / "visits" / "harbour"
    lines = (waiting / JOURNAL).read_text(encoding="utf-8").splitlines()
    first = json.loads(lines[0])["body"] | {"limits_sha256": "0" * 64}
    with Journal.create(folder) as journal:
        journal.append(ev.BODY.validate_python(first), AT)
        bodies = [ev.BODY.validate_python(json.loads(line)["body"]) for line in lines[1:]]
        journal.append_all([b for b in bodies if not getattr(b, "clip", None)], AT)
    with office_at(tmp_path / "visits") as (address, _):
        desk = Desk(address)
        answer = desk.change(desk.visit(), kind="amend", reading_id="r31", new="4.5", why="x")
        assert answer.status_code == 422 and "has changed since this visit" in answer.text
        sent = {"kind": "decide", "key": "cycles", "decision": "accepted", "why": "x"}
        assert desk.change(desk.visit(), **sent).status_code == 303


@pytest.mark.slow
def test_who_has_not_told_their_name_is_asked_and_the_change_goes_on(house, visits):
    desk = Desk(house, name="")
    visit = desk.visit()
    assert "Say who you are" in desk.page(visit)
    asked = desk.change(visit, kind="confirm", reading_id="r1")
    assert asked.status_code == 200 and "Who are you?" in asked.text
    sent = {"kind": "confirm", "reading_id": "r1", "by": "J. Lind"}
    assert desk.send(f"{visit}/change", asked.text, **sent).status_code == 303
    assert last(visits) == [acts.ReadingConfirmed(reading_id="r1", by="J. Lind")]
    assert "You are <b>J. Lind</b>" in desk.page(visit)  # and is not asked again


@pytest.mark.slow
def test_a_script_is_answered_in_its_language(desk, visits):
    visit = desk.visit()
    page = desk.page(f"{visit}/listen")
    desk.web.headers["accept"] = "application/json"
    answer = desk.change(visit, page, kind="confirm", reading_id="r1")
    assert answer.json() == {"head": verify(visits / "harbour").head}
    refused = desk.change(visit, page, kind="amend", reading_id="r2", new="x", why="x")
    assert refused.status_code == 422 and "is not a number" in refused.json()["problem"]
    again = desk.change(visit, page, kind="strike", reading_id="r1", why="x")
    assert again.status_code == 409


def test_sound_is_given_out_in_parts(desk, visits):
    visit = desk.visit()
    clip = sorted((visits / "harbour" / CLIPS).iterdir())[0]
    whole = desk.web.get(f"{visit}/clips/{clip.name}")
    assert whole.content == clip.read_bytes()
    assert whole.headers["content-type"] == "audio/flac"
    part = desk.web.get(f"{visit}/clips/{clip.name}", headers={"range": "bytes=100-199"})
    assert part.status_code == 206 and part.content == clip.read_bytes()[100:200]
    assert part.headers["content-range"] == f"bytes 100-199/{clip.stat().st_size}"
    beyond = desk.web.get(f"{visit}/clips/{clip.name}", headers={"range": "bytes=99999999-"})
    assert beyond.status_code == 416


@pytest.mark.slow
def test_record_and_export_are_those_of_the_visit(desk, visits):
    visit = desk.visit()
    record = desk.web.get(f"{visit}/record.pdf")
    assert record.headers["content-type"] == "application/pdf" and record.content[:4] == b"%PDF"
    export = desk.web.get(f"{visit}/export.json").json()
    assert export["journal_head"] == verify(visits / "harbour").head


@pytest.mark.slow
def test_a_visit_that_came_went_or_changed_is_seen(desk, visits, waiting):
    assert len(re.findall(r'href="/visit/', desk.page("/"))) == 1
    with Journal.open(visits / "harbour", AT) as journal:
        journal.append(acts.ReadingStruck(reading_id="r1", by="x", why="by another tool"), AT)
    assert "41 readings to confirm" in desk.page("/")
    shutil.copytree(waiting, visits / "sub" / "pool")
    _until(lambda: len(re.findall(r'href="/visit/', desk.page("/"))) == 2)
    shutil.rmtree(visits / "harbour")
    assert len(re.findall(r'href="/visit/', desk.page("/"))) == 1


def _until(true):
    import time

    end = time.monotonic() + 15
    while not true():
        assert time.monotonic() < end
        time.sleep(0.1)


@pytest.mark.slow
def test_an_unfinished_visit_can_be_gone_on_with_after_the_office_was_there(tmp_path):
    """The office corrects a reading, and the conversation that is resumed knows the new value."""
    from click.testing import CliRunner

    from handsfree.cli import main

    folder = tmp_path / "visits" / "pool"
    job = "docs/examples/harbour-hall.job.toml"
    lines = "\n".join(["done", "clear", "done", "locked out", "clear", "proved dead", "same way"])
    run = CliRunner().invoke(
        main, ["visit", "--job", job, "--typed", "--out", str(folder)], input=f"{lines}\naffirm\n"
    )
    assert run.exit_code == 0, run.output
    before = load_record(folder)
    assert not before.complete
    fact = before.facts[0]
    with office_at(tmp_path / "visits") as (address, _):
        desk = Desk(address)
        sent = {"kind": "fact", "subject": str(fact.subject), "name": fact.name}
        form = desk.page(f"{desk.visit()}/change/fact/{fact.seq}")
        answer = desk.change(desk.visit(), form, new="double_egress", why="x", **sent)
        assert answer.status_code == 303, answer.text
        assert "The visit is not finished" in desk.page(desk.visit())
    again = CliRunner().invoke(main, ["resume", str(folder), "--typed"], input="where am i\n")
    assert again.exit_code == 0, again.output
    assert load_record(folder).opening.swing == "double_egress"
    assert verify(folder).whole


@pytest.mark.slow
def test_a_photo_is_given_out_by_its_own_name_alone(desk, visits):
    folder = visits / "harbour"
    (folder / "photos").mkdir()
    Image.new("RGB", (40, 30), "red").save(folder / "photos" / "plate.jpg")
    assert CliRunner().invoke(main, ["photos", str(folder)]).exit_code == 0
    (name,) = [file.name for file in (folder / PICTURES).iterdir()]
    visit = desk.visit()
    page = desk.page(visit)
    assert f'src="{visit}/pictures/{name}"' in page
    answer = desk.web.get(f"{visit}/pictures/{name}")
    assert answer.content == (folder / PICTURES / name).read_bytes()
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    (folder / PICTURES / "other.jpg").write_bytes(b"x")
    for other in ("other.jpg", "000999.jpg", "..%2fjournal.jsonl"):
        assert desk.web.get(f"{visit}/pictures/{other}").status_code == 404
