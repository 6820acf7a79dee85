import pytest

from handsfree.data import data_folder
from handsfree.errors import HandsfreeError


def test_the_shipped_grammars_are_found():
    assert (data_folder("grammars") / "en" / "handsfree.jsgf").is_file()


def test_a_folder_that_does_not_ship_is_named():
    with pytest.raises(HandsfreeError, match="'recipes'"):
        data_folder("recipes")
