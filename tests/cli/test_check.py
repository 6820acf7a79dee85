"""handsfree check: exit codes, runs, and bad input."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from handsfree.cli import main

LEAF = ("--width", "36in", "--weight", "150lb")


def check(*options: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["check", *LEAF, *options])
    return result.exit_code, result.output


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (("--opening", "4.2"), 0),
        (("--opening", "2.9"), 1),
        (("--opening", "3.6"), 0),
        (("--opening", "3.6", "--strict"), 1),
        (("--opening", "nan"), 2),
        (("--opening", "-3"), 2),
        (("--opening", "4kg"), 2),
        ((), 2),
    ],
)
def test_exit_codes(options, code):
    assert check(*options)[0] == code


def test_no_run_is_dropped_and_their_mean_is_judged():
    code, out = check("--opening", "2.9", "--opening", "3.8", "--json")
    opening = json.loads(out)["findings"][0]
    assert (code, opening["reading"], opening["verdict"]) == (1, "3.35", "fail")
