"""The door of a daily walk by the name of a file, a visit, or the door itself."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from handsfree.daily.door import find_door
from handsfree.errors import JobError
from handsfree.visit_record.load import load_record

from .test_walk import walk_in


def job(folder: Path, name: str, site: str = "Hall") -> Path:
    file = folder / f"{name}.job.toml"
    text = f'[job]\nsite = "{site}"\nnote = "bring a ladder"\nreference = "HH-1"\n'
    file.write_text(f'{text}[opening]\nname = "{name}"\nlock = "latch"\n', encoding="utf-8")
    return file


def test_a_job_file_gives_its_door_without_the_technicians_work(tmp_path):
    found = find_door(str(job(tmp_path, "north door")), (), tmp_path)
    assert found.unfinished is None
    assert (found.sheet.opening.name, found.sheet.site) == ("north door", "Hall")
    assert (found.sheet.note, found.sheet.reference) == ("", "north door")


@pytest.mark.parametrize("words", ["north", "NORTH door", "hall north"])
def test_words_of_site_and_name_find_the_door(tmp_path, words):
    jobs = [job(tmp_path, "north door"), job(tmp_path, "south door")]
    assert find_door(words, jobs, tmp_path).sheet.opening.name == "north door"


def test_several_doors_are_named_and_a_whole_name_means_one(tmp_path):
    jobs = [job(tmp_path, "door 1"), job(tmp_path, "door 12")]
    assert find_door("door 1", jobs, tmp_path).sheet.opening.name == "door 1"
    with pytest.raises(JobError, match="can be several doors: door 1, Hall; door 12, Hall"):
        find_door("door", jobs, tmp_path)


@pytest.mark.parametrize("words", ["west", "", "  "])
def test_no_such_door_tells_the_way_out(tmp_path, words):
    with pytest.raises(JobError, match="handsfree new"):
        find_door(words, [job(tmp_path, "north")], tmp_path / "visits")


@pytest.mark.slow
def test_a_visit_knows_more_than_the_job_file(tmp_path, waiting):
    visits = tmp_path / "visits"
    shutil.copytree(waiting, visits / "one")
    (visits / "broken").mkdir()
    (visits / "broken" / "journal.jsonl").write_text("nothing\n", encoding="utf-8")
    visit = load_record(waiting)
    jobs = [job(tmp_path, visit.opening.name, visit.sheet.site)]
    for named in (visit.opening.name, str(visits / "one")):
        found = find_door(named, jobs, visits)
        assert found.sheet.opening.leaves == visit.opening.leaves
        assert found.unfinished is None


@pytest.mark.slow
def test_an_unfinished_walk_goes_on(tmp_path):
    walk = walk_in(tmp_path)
    walk.begin("Dana Ruiz")
    walk.close()
    found = find_door(str(tmp_path / "walk"), (), tmp_path)
    assert found.unfinished == tmp_path / "walk"
    assert found.sheet.technician == "Dana Ruiz"
