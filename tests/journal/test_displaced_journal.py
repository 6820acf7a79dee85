"""A journal that is deleted, moved or replaced during writing."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from handsfree.errors import JournalGone
from handsfree.journal.events import CarriedOn
from handsfree.journal.reader import JOURNAL, read, verify
from handsfree.journal.writer import Journal
from tests.journal.examples import AT, BODIES


def deleted(folder: Path) -> None:
    (folder / JOURNAL).unlink()


def replaced(folder: Path) -> None:
    """As a program does that synchronises: the other computer's file takes its place."""
    other = folder / "other"
    other.write_bytes((folder / JOURNAL).read_bytes()[:100])
    other.replace(folder / JOURNAL)


def moved_aside(folder: Path) -> None:
    (folder / JOURNAL).rename(folder / "journal.jsonl.bak")


def cut(folder: Path) -> None:
    (folder / JOURNAL).write_bytes(b"")


def added_to(folder: Path) -> None:
    with (folder / JOURNAL).open("ab") as file:
        file.write(b"{}\n")


def folder_deleted(folder: Path) -> None:
    shutil.rmtree(folder)


@pytest.mark.parametrize("harm", [deleted, replaced, moved_aside, cut, added_to, folder_deleted])
def test_what_is_known_is_kept_in_a_folder_beside_it_that_can_be_gone_on_with(
    folder: Path, harm: Callable[[Path], None]
) -> None:
    clips = {path.name: path.read_bytes() for path in (folder / "clips").glob("*")}
    with pytest.raises(JournalGone) as told, Journal.open(folder, AT) as journal:
        harm(folder)
        journal.append(CarriedOn(), AT)
    saved = folder.with_name(f"{folder.name}-kept-1")
    assert f"handsfree resume {saved}" in str(told.value)
    assert [event.body for event in read(saved)] == [*BODIES, CarriedOn()]
    if harm is not folder_deleted:
        assert {path.name: path.read_bytes() for path in (saved / "clips").glob("*")} == clips
        assert verify(saved).whole
    with Journal.open(saved, AT) as again:
        assert again.append(CarriedOn(), AT).seq == len(BODIES) + 2


def test_what_lies_there_instead_stays_as_it_is(folder: Path) -> None:
    with pytest.raises(JournalGone), Journal.open(folder, AT) as journal:
        replaced(folder)
        other = (folder / JOURNAL).read_bytes()
        journal.append(CarriedOn(), AT)
    assert (folder / JOURNAL).read_bytes() == other


def test_a_folder_that_was_renamed_has_everything_and_is_named(folder: Path) -> None:
    now = folder.with_name("renamed")
    with pytest.raises(JournalGone, match="was renamed") as told, Journal.open(folder, AT) as open_:
        folder.rename(now)
        open_.append(CarriedOn(), AT)
    assert f"handsfree resume {now}" in str(told.value)
    assert verify(now).whole
    assert read(now)[-1].body == CarriedOn()
    assert not folder.exists() and not list(folder.parent.glob("*-kept-*"))


def test_one_that_goes_after_its_last_event_is_told_when_it_is_closed(folder: Path) -> None:
    with pytest.raises(JournalGone), Journal.open(folder, AT):
        deleted(folder)
    assert [event.body for event in read(folder.with_name(f"{folder.name}-kept-1"))] == [*BODIES]


def test_nothing_that_was_kept_before_is_written_over(folder: Path) -> None:
    for nth in (1, 2):
        with pytest.raises(JournalGone), Journal.open(folder, AT) as journal:
            content = (folder / JOURNAL).read_bytes()
            deleted(folder)
            journal.append(CarriedOn(), AT)
        assert folder.with_name(f"{folder.name}-kept-{nth}").is_dir()
        (folder / JOURNAL).write_bytes(content)


def test_where_it_cannot_be_written_anew_either_that_is_said(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*parts: object) -> Path:
        raise OSError(28, "No space left on device")

    why = r"could not be saved next to it: no space left"
    with pytest.raises(JournalGone, match=why) as told, Journal.open(folder, AT) as journal:
        deleted(folder)
        monkeypatch.setattr("handsfree.journal.writer.save_elsewhere", full)
        journal.append(CarriedOn(), AT)
    assert "\n" not in str(told.value)
