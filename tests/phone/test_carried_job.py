"""A job for the phone includes the files that it names and the last visit's results."""

import json
from datetime import date

import pytest
from click.testing import CliRunner

from handsfree.checks.limits import shipped_limits
from handsfree.cli import main
from handsfree.clock import FakeClock
from handsfree.controllers.guide_loader import SHIPPED as GUIDES
from handsfree.errors import HandsfreeError, JobError
from handsfree.job_file.loader import load_sheet
from handsfree.journal.reader import read
from handsfree.phone.carried_job import about, about_text, carried_job, job_of
from handsfree.phone.companion import Companion
from handsfree.procedure.loader import SHIPPED as PROCEDURES
from handsfree.visit.last_visit import visit_reader

from .walks import JOB, PROCEDURE

TODAY = date(2100, 6, 1)
ZONE = "-05:00 EST"
BARE = JOB.replace(f'procedure = "{PROCEDURE}"\n', "")


@pytest.fixture(scope="module")
def own(tmp_path_factory):
    """A job with its own limits, procedure and guide, and a last visit."""
    folder = tmp_path_factory.mktemp("own")
    last = Companion(str(folder / "last"), FakeClock())
    last.begin(JOB, "daily-check")
    last.close()
    (folder / "mine.limits.toml").write_text('extends = "a156.19"\nname = "mine"\n')
    shipped = (PROCEDURES / "en" / "daily-check.toml").read_text(encoding="utf-8")
    (folder / "own.toml").write_text(shipped.replace('name = "daily-check"', 'name = "own"'))
    guide = sorted((GUIDES / "en").glob("*.toml"))[0]
    (folder / "guide.toml").write_bytes(guide.read_bytes())
    named = 'limits = "mine.limits.toml"\nprocedure = "own.toml"\ncontroller_guide = "guide.toml"'
    job = BARE.replace('limits = "a156.19"', f'{named}\nlast_visit = "last"')
    file = folder / "own.job.toml"
    file.write_text(job, encoding="utf-8")
    return file


def test_the_phone_has_the_sheet_of_the_desktop_but_for_where_files_lie(own, tmp_path):
    mine = carried_job(own, TODAY)
    theirs = load_sheet(own, shipped_limits(), visit_reader(TODAY))
    here = mine.unpacked(tmp_path)
    places = {"limits": "", "procedure": "", "controller_guide": ""}
    assert here.model_copy(update=places) == theirs.model_copy(update=places)
    assert here.last_visit is not None and here.last_visit == theirs.last_visit


def test_a_carried_job_is_begun_and_goes_on_with_its_own_files(own, tmp_path):
    text = carried_job(own, TODAY).model_dump_json()
    chosen = about(job_of(text))
    companion = Companion(str(tmp_path / "visit"), FakeClock())
    begun = json.loads(companion.begin(text, chosen["procedure"], guide=chosen["guide"], zone=ZONE))
    assert "error" not in begun, begun
    companion.close()
    opened = read(tmp_path / "visit")[0].body
    assert (opened.procedure, opened.zone, opened.limits) == ("own", ZONE, "mine")
    assert opened.controller.endswith("guide.toml")
    again = Companion(str(tmp_path / "visit"), FakeClock())
    gone_on = json.loads(again.resume())
    again.close()
    assert gone_on.get("step") == begun["step"], gone_on


def test_the_command_writes_what_the_first_page_opens(own, tmp_path):
    out = tmp_path / "own.phone.json"
    done = CliRunner().invoke(main, ["phone", "job", str(own), "--out", str(out)])
    assert done.exit_code == 0, done.output
    shown = json.loads(about_text(out.read_text(encoding="utf-8")))
    assert (shown["procedure"], shown["guide"], shown["left_out"]) == (
        *("own.toml", "guide.toml"),
        False,
    )
    assert shown["last"].startswith("2100-01-01")


def test_a_job_file_alone_says_what_did_not_come_with_it(own):
    assert "mine.limits.toml" in json.loads(about_text(own.read_text(encoding="utf-8")))["error"]
    alone = JOB.replace("[job]", '[job]\nlast_visit = "last"')
    assert json.loads(about_text(alone))["left_out"] is True


@pytest.mark.parametrize(
    "text", ['{"sheet": 4}', "{", '{"sheet": {}, "files": {"../escape.toml": ""}}', "[job"]
)
def test_what_is_no_job_is_one_clear_line(text):
    assert set(json.loads(about_text(text))) == {"error"}


def test_a_file_of_a_carried_job_stays_in_its_folder(own):
    data = json.loads(carried_job(own, TODAY).model_dump_json())
    for name in ("../up.toml", "a/b.toml", "..", ".hidden", "a\\b.toml"):
        with pytest.raises(JobError, match="damaged"):
            job_of(json.dumps(data | {"files": {name: ""}}))


def test_a_job_that_the_phone_could_not_use_is_refused_at_the_desk(own, tmp_path):
    job = own.read_text(encoding="utf-8").replace("own.toml", "other.toml")
    for name in ("mine.limits.toml", "guide.toml"):
        (tmp_path / name).write_bytes((own.parent / name).read_bytes())
    (tmp_path / "other.toml").write_text('name = "other"\ntitle = "x"\ninclude = ["part"]\n')
    file = tmp_path / "job.toml"
    file.write_text(job.replace('last_visit = "last"', ""), encoding="utf-8")
    with pytest.raises(HandsfreeError, match="phone could not use"):
        carried_job(file, TODAY)


def test_the_daily_walk_leaves_out_what_the_job_says_of_the_work(tmp_path):
    companion = Companion(str(tmp_path / "walk"), FakeClock())
    assert "error" not in json.loads(companion.begin(JOB, "daily-check"))
    companion.close()
    sheet = read(tmp_path / "walk")[0].body.sheet
    assert (sheet.procedure, sheet.note, sheet.reference) == ("", "", sheet.opening.name)
