"""A sound server that dies or freezes while a visit speaks, again and again."""

from pathlib import Path

import pytest

from tests.air import missing
from tests.bench.sound_server import Fault, run_rounds


@pytest.mark.slow
@pytest.mark.parametrize("options", [(), ("--headset",)], ids=["loudspeaker", "headset"])
@pytest.mark.parametrize(("fault", "rounds"), [("killed", 3), ("stalled", 2)])
def test_a_visit_tells_it_speaks_again_when_it_can_and_ends_at_the_first_word(
    fault: Fault, rounds: int, options: tuple[str, ...], tmp_path: Path
) -> None:
    if (why := missing()) is not None:
        pytest.skip(why)
    reported, ended = run_rounds(tmp_path, rounds, 1, fault, *options)
    assert len(reported) == rounds and len(ended) == (2 if rounds > 5 else 1)
