"""The office's list: words, filters, orders, pages, what is due, how long a visit waits."""

from __future__ import annotations

from datetime import date
from urllib.parse import parse_qsl

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.office.visit_list import PAGE, Listed, ListQuery, choose, list_query, waited
from handsfree.office.visit_row import VisitRow, row_of, unreadable_row
from handsfree.visit_record.load import load_record

from ..ledger.visits import small_visit

TODAY = date(2026, 3, 14)
PLAIN = unreadable_row("x", "").model_copy(
    update={"standing": "open", "kind": "pass", "words": "", "opening_key": ""}
)


def listed(name: str, **update: object) -> Listed:
    row = VisitRow.model_validate(PLAIN.model_dump() | {"opening_key": name} | update)
    return Listed(name, row)


def ids(chosen) -> list[str]:
    return [each.id for each in chosen.rows]


def test_words_are_found_in_any_order_and_case():
    rows = [listed("a", words="harbour hall\nnorth"), listed("b", words="harbour house\nsouth")]
    assert ids(choose(rows, ListQuery(q="NORTH Harbour"), TODAY)) == ["a"]
    assert ids(choose(rows, ListQuery(q="harbour"), TODAY)) == ["a", "b"]
    assert ids(choose(rows, ListQuery(q="harbour nowhere"), TODAY)) == []


def test_an_accent_hides_no_visit(tmp_path):
    folder = small_visit(tmp_path / "a", site="Clínica Ejemplo", name="puerta de cancelería")
    rows = [Listed("a", row_of(load_record(folder), "a"))]
    for query in (ListQuery(q="clinica CANCELERÍA"), ListQuery(door="clinica canceleria")):
        assert ids(choose(rows, query, TODAY)) == ["a"]


def test_the_newest_come_first_and_pages_hold_together():
    rows = [listed(f"v{n:03}", ended=f"2026-01-{1 + n % 28:02}") for n in range(2 * PAGE + 3)]
    pages = [choose(rows, ListQuery(order="newest", page=n), TODAY) for n in (1, 2, 3)]
    seen = [each.row.ended for page in pages for each in page.rows]
    assert len(seen) == len(rows) and seen == sorted(seen, reverse=True)
    assert len({each for page in pages for each in ids(page)}) == len(rows)
    assert pages[0].pages == 3 and choose(rows, ListQuery(page=99), TODAY).page == 3


def test_filters_show_and_count_what_they_say():
    rows = [
        listed("wrong", kind="fail"),
        listed("signed", standing="signed"),
        listed("broken", standing="broken", problem="line 4"),
        listed("changed", standing="changed", kind="fail"),
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


def on(day: str) -> dict[str, str]:
    return {"began": day, "ended": day}


VISITS = [
    listed("old", **on("2026-01-05"), technician="R. Almeda", kind="fail"),
    listed(
        "signed", ended="2026-01-02", began="2026-01-02", technician="J. Lind", standing="signed"
    ),
    listed("new", **on("2026-03-01"), technician="J. Lind", kind="close"),
    listed(
        "late", ended="2026-02-01", began="2026-02-01", technician="R. Almeda", standing="signed"
    ),
    listed("practice", **on("2025-01-01"), rehearsal=True, due="2025-02-01"),
]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, ["old", "new", "late", "signed"]),
        ({"order": "newest"}, ["new", "late", "old", "signed"]),
        ({"order": "door"}, ["late", "new", "old", "signed"]),
        ({"rehearsals": "yes"}, ["practice", "old", "new", "late", "signed"]),
        ({"rehearsals": "yes", "only": "due"}, ["practice"]),
        ({"only": "due"}, []),
        ({"technician": "LIND"}, ["new", "signed"]),
        ({"verdict": "close"}, ["new"]),
        ({"since": "2026-01-05", "until": "2026-02-01"}, ["old", "late"]),
        ({"since": "2026-02-02"}, ["new"]),
        ({"door": "Old"}, ["old"]),
        (
            {"order": "rubbish", "verdict": "?", "since": "yesterday", "page": "x"},
            ["old", "new", "late", "signed"],
        ),
    ],
)
def test_what_an_address_asks_for(asked, found):
    """The one that has waited longest comes first; a door that was simulated only if asked for."""
    chosen = choose(VISITS, list_query(asked), TODAY)
    assert ids(chosen) == found
    assert chosen.left_out == (0 if "rehearsals" in asked else 1)


@given(
    st.builds(
        ListQuery,
        q=st.text(max_size=5),
        only=st.sampled_from(["all", "due", "broken"]),
        verdict=st.sampled_from(["any", "fail"]),
        technician=st.text(max_size=5),
        door=st.text(max_size=5),
        since=st.sampled_from(["", "2026-03-04"]),
        until=st.sampled_from(["", "2026-03-04"]),
        rehearsals=st.booleans(),
        order=st.sampled_from(["waiting", "newest", "door"]),
        page=st.integers(1, 999),
    )
)
def test_an_address_leads_back_to_its_query(asked):
    given_back = dict(parse_qsl(asked.address.partition("?")[2], keep_blank_values=True))
    assert list_query(given_back) == asked


@pytest.mark.parametrize(
    ("ended", "standing", "words"),
    [
        ("2026-03-14T08:00:00.000Z", "open", "since today"),
        ("2026-03-13T23:59:59.000Z", "changed", "1 day"),
        ("2025-03-14T08:00:00.000Z", "open", "365 days"),
        ("2025-03-14T08:00:00.000Z", "signed", ""),
        ("2100-03-14T08:00:00.000Z", "open", ""),
        ("no time", "broken", ""),
    ],
)
def test_how_long_a_visit_waits(ended, standing, words):
    assert waited(listed("x", ended=ended, standing=standing).row, TODAY) == words


def test_names_to_filter_by_are_those_with_the_most_visits():
    rows = [listed(f"{n}", technician=f"T{n % 150:03}") for n in range(200)]
    assert choose(rows, ListQuery(), TODAY).technicians[:3] == ("T000", "T001", "T002")
    assert len(choose(rows, ListQuery(), TODAY).technicians) == 100
