"""A Spanish visit by sound: a natural voice that the Spanish model was never trained on."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify

FIXTURES = Path(__file__).parents[1] / "audio_fixtures"


@pytest.mark.slow
def test_what_is_said_in_spanish_is_heard_filed_and_kept(tmp_path: Path):
    visit = tmp_path / "visit"
    given = ["--job", str(FIXTURES / "casa-norte.job.toml"), "--procedure", "daily-check"]
    given += ["--sound", str(FIXTURES / "casa-norte.flac"), "--out", str(visit)]
    result = CliRunner().invoke(main, ["visit", *given])
    assert result.exit_code == 0, result.output
    assert verify(visit).whole
    bodies = [event.body for event in read(visit)]
    heard = [body.text for body in bodies if isinstance(body, ev.Heard)]
    answers = ["en orden", "afirmo", "en orden", "afirmo", "no está en orden", "negativo"]
    assert heard[:6] == answers
    assert heard[-1] == "alto"
    (reading,) = [body for body in bodies if isinstance(body, ev.ReadingAccepted)]
    assert str(reading.reading.measure.value) == "6.2"
    spoken = [body.text for body in bodies if isinstance(body, ev.Said)]
    assert "Nota guardada." in spoken
    assert any(
        text.startswith("Hoja izquierda, tiempo de apertura, seis coma dos") for text in spoken
    )


def test_the_wheel_carries_what_the_demo_needs():
    assert (data_folder("audio_fixtures") / "harbour-hall.flac").is_file()
