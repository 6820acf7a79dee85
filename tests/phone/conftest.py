import pytest

from .app import built


@pytest.fixture(scope="session")
def app(tmp_path_factory):
    return built(tmp_path_factory.mktemp("phone") / "app")
