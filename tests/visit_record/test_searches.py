"""Searches for a cause in the record of a visit."""

from __future__ import annotations

from handsfree.journal import events as ev
from handsfree.journal.search_events import SearchAnswered, SearchEnded, SearchStarted
from handsfree.visit_record.facts import Facts
from handsfree.visit_record.open_items import OpenItems
from handsfree.visit_record.progress import Course, advance
from handsfree.visit_record.readings import Readings
from handsfree.visit_record.searches import Searches

SLAMS = {"tree": "slams", "title": "The door slams"}


def followed(*bodies):
    searches = Searches()
    for seq, body in enumerate(bodies, 1):
        searches.apply(ev.Event(seq=seq, at="2100-01-01T00:00:00.000Z", body=body, prev="0" * 64))
    return searches


def test_a_search_has_its_answers_and_its_cause():
    searches = followed(
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchAnswered(at="arm-tight", asked="Is the arm tight?", answer="no"),
        SearchEnded(**SLAMS, outcome="cured", cause="arm-loose", found="The arm is loose.",
                    work="repaired"),
    )  # fmt: skip
    (search,) = searches.all
    assert search.answers == (("Is the arm tight?", "no"),)
    assert search.line == "The door slams: the arm is loose. Repaired, cured."
    assert searches.title("search/slams") == "The door slams"
    assert searches.title("left leaf/opening time") is None


def test_a_search_under_way_or_without_a_cause_says_so():
    begun = followed(SearchStarted(**SLAMS, sha256="5" * 64))
    assert begun.all[0].line == "The door slams: not ended."
    ended = followed(
        SearchStarted(**SLAMS, sha256="5" * 64), SearchEnded(**SLAMS, outcome="not_found")
    )
    assert ended.all[0].line == "The door slams: not found."


def test_what_is_put_right_at_hand_over_is_a_line_of_its_own():
    searches = followed(
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchEnded(**SLAMS, outcome="stopped"),
        SearchEnded(**SLAMS, outcome="cured"),
    )
    assert [each.outcome for each in searches.all] == ["stopped", "cured"]


def test_who_accepted_an_open_item_stands_with_it():
    items, course = OpenItems(), Course()
    for body in (
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchEnded(**SLAMS, outcome="not_found"),
        ev.OpenSettled(key="search/slams", word="accepted", by="the desk"),
    ):
        event = ev.Event(seq=1, at="2100-01-01T00:00:00.000Z", body=body, prev="0" * 64)
        items.apply(event)
        course = advance(course, body)
    (item,) = items.items(Readings(), Facts(), course)
    assert (item.what, item.word, item.accepted_by) == (
        "The door slams: cause not cured",
        "accepted",
        "the desk",
    )
    searches = followed(SearchStarted(**SLAMS, sha256="5" * 64))
    (left,) = items.left_open(course, searches)
    assert (left.what, left.word, left.by) == ("The door slams", "accepted", "the desk")
