from pathlib import Path
from typing import get_args

from handsfree.journal.events import Body


def test_the_guide_names_every_kind_of_event() -> None:
    guide = (Path(__file__).parents[2] / "docs" / "journal.md").read_text(encoding="utf-8")
    for kind in get_args(get_args(Body)[0]):
        assert f"`{kind.model_fields['kind'].default}`" in guide
