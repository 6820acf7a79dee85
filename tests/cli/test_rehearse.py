"""handsfree rehearse: as text, done by yourself, and invalid options."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from rich.console import Console

from handsfree.cli import main
from handsfree.cli.rehearse_yourself import frame
from handsfree.job.opening import Side
from handsfree.journal.reader import read
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_file import load_door


def run(*arguments: str, typed: str = ""):
    return CliRunner().invoke(main, ["rehearse", *arguments], input=typed)


@pytest.mark.slow
def test_a_visit_is_shown_and_says_what_was_found(tmp_path):
    folder = tmp_path / "visit"
    shown = run(
        *("--typed", "--careful", "--door", "entry-single", "--procedure", "daily-check"),
        *("--fault", "plate dead", "--out", str(folder)),
    )
    assert shown.exit_code == 0, shown.output
    assert "faults found       plate dead" in shown.output
    assert "faults missed      none" in shown.output
    assert "0 of them misheard" in shown.output
    summary = (folder / "summary.txt").read_text(encoding="utf-8")
    assert "REHEARSAL" in summary and "simulated" in summary
    assert read(folder)[0].body.ears == "rehearsal, typed"


def test_yourself_at_the_door(tmp_path):
    lines = (
        *("done", ".press", ".help", "clear", ".settings", ".set left closing_speed 3"),
        *("done", "locked out", "clear", "proved dead", "yes"),
    )
    shown = run("--you", "--typed", "--out", str(tmp_path / "v"), typed="\n".join(lines) + "\n")
    assert shown.exit_code == 0, shown.output
    assert "this door does not exist" in shown.output
    assert "left leaf, seconds from the press: starts 0.0" in shown.output
    assert "left leaf, closing_speed: 3" in shown.output
    assert "Same way, strike. Still the same?" in shown.output
    assert "visit              not complete" in shown.output
    assert read(tmp_path / "v")[0].body.ears == "rehearsal, yourself, typed"


@pytest.mark.parametrize("typed", [(), ("--typed",)])
def test_a_rehearsal_is_not_gone_on_with_because_its_door_is_gone(tmp_path, typed):
    folder = str(tmp_path / "v")
    run("--you", "--typed", "--out", folder, typed="done\n")
    before = read(tmp_path / "v")
    gone_on = CliRunner().invoke(main, ["resume", folder, *typed])
    assert gone_on.exit_code == 2
    assert "cannot resume a rehearsal: its simulated door is gone" in gone_on.output
    assert "start over: handsfree rehearse" in gone_on.output
    assert read(tmp_path / "v") == before


def test_a_fault_that_is_drawn_is_not_told_before_the_end(tmp_path):
    shown = run("--you", "--typed", "--fault", "any", "--out", str(tmp_path / "v"), typed="done\n")
    before, _, after = shown.output.partition("The rehearsal")
    assert "faults missed" not in before
    assert "faults missed      none" not in after


def test_the_list_names_doors_and_faults():
    shown = run("--list").output
    assert "corridor-pair: corridor pair; two leaves" in shown
    assert "plate dead: a plate has no effect (needs a plate)" in shown


@pytest.mark.slow
@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--door", "nowhere.toml"), "'nowhere.toml' is neither a shipped door"),
        (("--fault", "sensor ded"), "did you mean 'sensor dead'?"),
        (("--door", "clinic-single", "--fault", "motors swapped"), "it needs two leaves"),
        (("--voice", "flite:nobody"), "flite"),
        (("--snr", "900"), "--snr is in dB"),
        (("--echo", "-1"), "--echo is in seconds"),
    ],
)
def test_what_cannot_be_is_one_clear_line(arguments, told, tmp_path):
    shown = run(*arguments, "--out", str(tmp_path / "v"))
    assert shown.exit_code == 2
    assert told in shown.output
    assert "Traceback" not in shown.output


def test_a_picture_has_the_plan_and_the_clock():
    spec = load_door("corridor-pair")
    cycles = {side: Door(spec).truth(side) for side in Side}
    console = Console(width=80, record=True, force_terminal=False)
    with console.capture() as capture:
        console.print(frame(spec, cycles, 3.0))
    shown = capture.get()
    assert "3.0 s" in shown and "left leaf  4" in shown
    assert shown.count("◉") == 2 and shown.count("◆") == 2
