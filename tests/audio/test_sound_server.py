"""A sound server that dies while a visit speaks; tests/bench/sound_server.py does it 20 times."""

from pathlib import Path

import pytest

from tests.air import missing
from tests.bench.sound_server import kill_again_and_again


@pytest.mark.slow
@pytest.mark.parametrize("options", [(), ("--headset",)], ids=["loudspeaker", "headset"])
def test_a_visit_tells_it_speaks_again_when_it_can_and_ends_at_the_first_word(
    options: tuple[str, ...], tmp_path: Path
) -> None:
    if (why := missing()) is not None:
        pytest.skip(why)
    told, ended = kill_again_and_again(tmp_path, 6, 1, *options)
    assert len(told) == 6 and len(ended) == 2
