"""A packed visit: reproducible, complete, and checked on unpacking."""

from __future__ import annotations

import io
import json
import os
import shutil
import stat
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.errors import JournalError, PackError
from handsfree.journal import reader
from handsfree.journal.canonical_json import sha256_of
from handsfree.reports import unpack_checks
from handsfree.reports.pack import pack
from handsfree.reports.unpack import unpack

from ..ledger.visits import amend, small_visit


@pytest.fixture(scope="module")
def packed(reviewed, tmp_path_factory) -> Path:
    file = tmp_path_factory.mktemp("pack") / "reviewed.visit.zip"
    file.write_bytes(pack(reviewed))
    return file


@pytest.fixture
def small(tmp_path) -> Path:
    return small_visit(tmp_path / "here" / "small")


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder except the empty lock file."""
    files = (p for p in folder.rglob("*") if p.is_file() and p.name != "journal.lock")
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def put(file: Path, folder: Path) -> Path:
    file.write_bytes(pack(folder))
    return file


def forged(file: Path, change, *, hashes: bool = True) -> Path:
    """The pack with its files changed; with ``hashes`` its manifest is updated."""
    with zipfile.ZipFile(file) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(files.pop("manifest.json"))
    change(files, manifest)
    if hashes:
        manifest["files"] = {
            name: {"size": len(content), "sha256": sha256_of(content)}
            for name, content in files.items()
        }
    out = file.with_name("forged.visit.zip")
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {**files, "manifest.json": json.dumps(manifest).encode()}.items():
            archive.writestr(name, content)
    return out


def refuses(file: Path, into: Path, says: str) -> None:
    before = contents(into) if into.exists() else {}
    with pytest.raises(PackError, match=says) as told:
        unpack(file, into)
    assert "\n" not in str(told.value)
    assert (contents(into) if into.exists() else {}) == before
    assert not into.exists() or not list(into.glob(".unpacking-*"))


@pytest.mark.slow
def test_a_visit_comes_out_as_it_went_in(reviewed, packed, tmp_path):
    done = unpack(packed, tmp_path)
    assert done.came == "unpacked" and reader.verify(done.folder).whole
    there, here = contents(reviewed), contents(done.folder)
    assert {n: here[n] for n in here if n.startswith(("journal.j", "journal.h", "clips/"))} == {
        n: there[n] for n in there if n.startswith(("journal.j", "journal.h", "clips/"))
    }
    assert b"<!doctype html>" in here["report.html"][:40].lower()
    assert b"HH-0417" in here["summary.txt"]
    for path in (done.folder, *done.folder.rglob("*")):
        assert path.stat().st_mode & 0o077 == 0, path
    assert unpack(packed, tmp_path).came == "unchanged"
    assert contents(done.folder) == here


@pytest.mark.slow
def test_the_same_visit_gives_the_same_bytes_wherever_it_lies(reviewed, packed, tmp_path):
    other = Path(shutil.copytree(reviewed, tmp_path / "reviewed"))
    for path in other.rglob("*"):
        os.utime(path, (1, 1))
    assert pack(other) == packed.read_bytes()
    # Unpacked and packed again it is the same once more.
    assert pack(unpack(packed, tmp_path / "in").folder) == packed.read_bytes()


def test_a_journal_that_is_not_whole_is_not_packed(small):
    journal = small / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"6.4", b"6.5", 1))
    with pytest.raises(JournalError, match="only a whole visit is packed") as told:
        pack(small)
    assert told.value.line


def test_a_newer_state_replaces_an_older_one_only_when_it_is_wanted(small, tmp_path):
    old = put(tmp_path / "old.visit.zip", small)
    into = tmp_path / "office"
    target = unpack(old, into).folder
    (target / "letter.txt").write_text("mine")
    amend(small, "r1", "6.0")
    new = put(tmp_path / "new.visit.zip", small)
    refuses(new, into, "an older or damaged state of this visit is here.*place with --replace")
    assert unpack(new, into, replace=True).came == "replaced"
    assert reader.verify(target).head == reader.verify(small).head
    assert (target / "letter.txt").read_text() == "mine"
    refuses(old, into, "has continued since this was packed")
    with pytest.raises(PackError, match="has continued since"):
        unpack(old, into, replace=True)
    # Two that were worked on apart.
    apart = unpack(old, tmp_path / "branch").folder
    amend(apart, "r1", "5.0")
    other = put(tmp_path / "apart.visit.zip", apart)
    lines = reader.verify(unpack(old, tmp_path / "third").folder).lines
    for replace in (False, True):
        with pytest.raises(PackError, match=f"differ from line {lines + 1} on; both were"):
            unpack(other, into, replace=replace)


def test_another_visit_of_the_same_name_and_other_files_stay(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)
    small_visit(tmp_path / "office" / "small", reference="OTHER")
    refuses(file, tmp_path / "office", "another visit here under this name")
    (tmp_path / "letters" / "small").mkdir(parents=True)
    refuses(file, tmp_path / "letters", "something else here already")
    (tmp_path / "links").mkdir()
    (tmp_path / "links" / "small").symlink_to(tmp_path / "office" / "small")
    refuses(file, tmp_path / "links", "something else here already")


def test_a_damaged_visit_is_made_whole_again(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)
    target = unpack(file, tmp_path / "office").folder
    (target / "journal.head").write_text("gone")
    assert unpack(file, tmp_path / "office", replace=True).came == "replaced"
    assert reader.verify(target).whole


@pytest.mark.parametrize(
    "name",
    [
        *("../evil", "/etc/evil", "clips/../../evil", "clips/a.flac", "C:\\evil", "journal.lock"),
        *("clips/000001.flac/x", "journal.jsonl ", "JOURNAL.JSONL", "clips\\000001.flac", "x\0y"),
        *("clips/", "manifest.json/x", "journal.torn-", "report.html\n"),
    ],
)
def test_only_the_names_of_a_visit_come_in(small, tmp_path, name):
    file = put(tmp_path / "a.visit.zip", small)
    forged_file = forged(file, lambda files, _: files.update({name: b"x"}))
    refuses(forged_file, tmp_path / "in", "which no visit has|names other files")
    assert not (tmp_path / "evil").exists()


@pytest.mark.parametrize(
    "name",
    [
        *("..", ".", "", "a/b", "/tmp/x", ".hidden", "a\\b", "x" * 90),
        *("CON", "nul", "com1.visit", "Aux.2026", "ends-with."),
    ],
)
def test_the_visits_name_leads_nowhere_else(small, tmp_path, name):
    file = put(tmp_path / "a.visit.zip", small)
    forged_file = forged(file, lambda _, manifest: manifest.update(name=name))
    refuses(forged_file, tmp_path / "in", "not a valid folder name")


@pytest.mark.parametrize("name", ["con", "nul.visit", "a.", "..."])
def test_a_folder_of_such_a_name_is_packed_under_another(tmp_path, name):
    folder = small_visit(tmp_path / name)
    file = put(tmp_path / "a.visit.zip", folder)
    assert reader.verify(unpack(file, tmp_path / "in").folder).whole


def test_summary_and_report_are_made_anew_and_not_taken_from_the_sender(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)

    def lie(files, _):
        files["report.html"] = b"<script>alert('all within its limits')</script>"
        files["summary.txt"] = b"Every reading is within its limit."

    folder = unpack(forged(file, lie), tmp_path / "in").folder
    assert contents(folder) == contents(unpack(file, tmp_path / "honest").folder)
    assert b"alert" not in (folder / "report.html").read_bytes()
    amend(small, "r1", "6.0")
    newer = put(tmp_path / "b.visit.zip", small)
    unpack(forged(newer, lie), tmp_path / "in", replace=True)
    assert b"alert" not in (folder / "report.html").read_bytes()
    assert (folder / "summary.txt").read_bytes()[:23] != b"Every reading is within"


@pytest.mark.parametrize("name", ["clips/000999.flac", "journal.torn-7"])
def test_what_the_journal_does_not_name_does_not_come_in(small, tmp_path, name):
    file = put(tmp_path / "a.visit.zip", small)
    forged_file = forged(file, lambda files, _: files.update({name: b"MZ, a program"}))
    refuses(forged_file, tmp_path / "in", f"holds '{name}', which its journal does not name")


@pytest.mark.slow
def test_what_unpacks_out_of_proportion_is_refused_before_it_is_unpacked(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)
    huge = forged(file, lambda files, _: files.update({"summary.txt": b" " * 50_000_000}))
    refuses(huge, tmp_path / "in", "out of proportion")


def test_a_link_is_refused(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)
    with zipfile.ZipFile(file, "a") as archive:
        link = zipfile.ZipInfo("clips/000009.flac")
        link.create_system = 3
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
    refuses(file, tmp_path / "in", "is a link")


def test_a_name_stands_once(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)
    with zipfile.ZipFile(file, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("journal.jsonl", b"other")
    refuses(file, tmp_path / "in", "twice")


@pytest.mark.slow
def test_a_bomb_is_stopped_at_the_size_that_it_claims(small, tmp_path):
    """The listing says 10 bytes, and 100 MB come out."""
    file = put(tmp_path / "a.visit.zip", small)
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("clips/000009.flac", b"\0" * 100_000_000)
        entry = archive.infolist()[0]
        entry.file_size = 10
    raw = bomb.getvalue()
    out = tmp_path / "bomb.visit.zip"
    with zipfile.ZipFile(file) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(files["manifest.json"])
    manifest["files"]["clips/000009.flac"] = {"size": 10, "sha256": "0" * 64}
    out.write_bytes(raw)
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {**files, "manifest.json": json.dumps(manifest).encode()}.items():
            archive.writestr(name, content)
    refuses(out, tmp_path / "in", "larger than it says|damaged on the way")


def test_what_is_too_much_is_refused_before_it_is_unpacked(small, tmp_path, monkeypatch):
    file = put(tmp_path / "a.visit.zip", small)
    monkeypatch.setattr(unpack_checks, "MOST_BYTES", 1000)
    refuses(file, tmp_path / "in", "larger than a visit can be")
    monkeypatch.setattr(unpack_checks, "MOST_FILES", 2)
    refuses(file, tmp_path / "in", "more than 2")


def test_a_changed_file_or_journal_is_refused(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)

    def edit(files, _):
        files["journal.jsonl"] = files["journal.jsonl"].replace(b"6.4", b"6.5", 1)

    refuses(forged(file, edit, hashes=False), tmp_path / "in", "not what the manifest says")
    refuses(forged(file, edit), tmp_path / "in", "the journal in it is broken at line")
    other = forged(file, lambda _, manifest: manifest.update(head="0" * 64))
    refuses(other, tmp_path / "in", "different heads")
    other = forged(file, lambda files, _: files.pop("journal.head"))
    refuses(other, tmp_path / "in", "no journal with its head")
    other = forged(file, lambda _, manifest: manifest.update(version=2))
    refuses(other, tmp_path / "in", "only 1 is known")


def test_any_damage_on_the_way_is_noticed(small, tmp_path):
    file = put(tmp_path / "a.visit.zip", small)
    whole = file.read_bytes()
    as_sent = contents(unpack(file, tmp_path / "sent").folder)
    for nth, at in enumerate(range(0, len(whole), max(1, len(whole) // 150))):
        damaged = bytearray(whole)
        damaged[at] ^= 0x41
        file.write_bytes(damaged)
        into = tmp_path / f"in{nth}"
        try:
            done = unpack(file, into)
        except PackError:
            assert not into.exists() or not list(into.iterdir())
        else:  # a byte that means nothing, such as a time
            assert contents(done.folder) == as_sent
    for cut in (0, 10, len(whole) // 2, len(whole) - 1):
        file.write_bytes(whole[:cut])
        refuses(file, tmp_path / "cut", "not a pack, or it was damaged")


def test_the_commands(small, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke(main, ["pack", str(small)])
    assert run.exit_code == 0 and (tmp_path / "small.visit.zip").is_file()
    run = CliRunner().invoke(main, ["unpack", "small.visit.zip", "--into", "visits"])
    assert run.output == "visits/small: unpacked\n"
    run = CliRunner().invoke(main, ["unpack", "none.zip"])
    assert run.exit_code == 2 and "cannot be read" in run.stderr
    run = CliRunner().invoke(main, ["pack", str(small), "--out", "/proc/none/x"])
    assert run.exit_code == 2 and "could not be written" in run.stderr
