"""The office's list: rows, words, filters, pages, what is due."""

from __future__ import annotations

from datetime import date

from handsfree.office.visit_row import (
    PAGE,
    Listed,
    ListQuery,
    VisitRow,
    choose,
    row_of,
    unreadable_row,
)
from handsfree.visit_record.load import load_record

TODAY = date(2026, 3, 14)
PLAIN = unreadable_row("x", "").model_copy(
    update={"standing": "open", "kind": "pass", "words": "", "opening_key": ""}
)


def listed(name: str, **update: object) -> Listed:
    row = VisitRow.model_validate(PLAIN.model_dump() | {"opening_key": name} | update)
    return Listed(name, row)


def ids(chosen) -> list[str]:
    return [each.id for each in chosen.rows]


def test_a_row_tells_what_the_visit_is(waiting, reviewed):
    row = row_of(load_record(waiting), "harbour/one")
    assert (row.reference, row.wrong, row.standing) == ("HH-0417", True, "open")
    assert (row.to_confirm, row.to_decide, row.due) == (42, 2, "2101-03-04")
    assert row.kind == "fail" and row.verdict == "Not in order"
    for word in ("hh-0417", "north entrance", "almeda", "washer", "harbour/one"):
        assert word in row.words
    signed = row_of(load_record(reviewed), "two")
    assert (signed.standing, signed.signed_by) == ("signed", "J. Lind")


def test_words_are_found_in_any_order_and_case():
    rows = [listed("a", words="harbour hall\nnorth"), listed("b", words="harbour house\nsouth")]
    assert ids(choose(rows, ListQuery(words="NORTH Harbour"), TODAY)) == ["a"]
    assert ids(choose(rows, ListQuery(words="harbour"), TODAY)) == ["b", "a"]
    assert ids(choose(rows, ListQuery(words="harbour nowhere"), TODAY)) == []


def test_the_newest_come_first_and_pages_hold_together():
    rows = [listed(f"v{n:03}", began=f"2026-01-{1 + n % 28:02}") for n in range(2 * PAGE + 3)]
    pages = [choose(rows, ListQuery(page=n), TODAY) for n in (1, 2, 3)]
    seen = [each.row.began for page in pages for each in page.rows]
    assert len(seen) == len(rows) and seen == sorted(seen, reverse=True)
    assert len({each for page in pages for each in ids(page)}) == len(rows)
    assert pages[0].pages == 3 and choose(rows, ListQuery(page=99), TODAY).page == 3


def test_filters_show_and_count_what_they_say():
    rows = [
        listed("wrong", wrong=True),
        listed("signed", standing="signed"),
        listed("broken", standing="broken", problem="line 4"),
        listed("changed", standing="changed", wrong=True),
    ]
    assert set(ids(choose(rows, ListQuery(only="not-in-order"), TODAY))) == {"wrong", "changed"}
    assert "signed" not in ids(choose(rows, ListQuery(only="not-reviewed"), TODAY))
    assert ids(choose(rows, ListQuery(only="broken"), TODAY)) == ["broken"]
    counts = choose(rows, ListQuery(), TODAY).counts
    assert counts == {"all": 4, "not-in-order": 2, "not-reviewed": 3, "due": 0, "broken": 1}


def test_due_is_this_month_and_before_and_of_the_newest_visit_only():
    rows = [
        listed("march", due="2026-03-31", ended="2025-03-31"),
        listed("april", due="2026-04-01", ended="2025-04-01"),
        listed("late", due="2025-12-01", ended="2024-12-01"),
        listed("old", due="2025-06-01", ended="2024-06-01", opening_key="served"),
        listed("new", due="2026-06-01", ended="2025-06-01", opening_key="served"),
        listed("never"),
    ]
    chosen = choose(rows, ListQuery(only="due"), TODAY)
    assert ids(chosen) == ["late", "march"]
    assert chosen.overdue == {"late"}
    assert choose(rows, ListQuery(), TODAY).overdue == {"late"}
