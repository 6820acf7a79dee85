"""A guide is read completely, and every fault is named with its line."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from handsfree.controllers.guide_loader import (
    SHIPPED,
    guide_faults,
    load_guide,
    parse_guide,
    shipped_guides,
)
from handsfree.errors import ControllerError
from handsfree.job.quantity import Quantity
from handsfree.language.wording import languages

DOCS = Path(__file__).parents[2] / "docs" / "controllers.md"
HERON = (SHIPPED / "en" / "heron.toml").read_text(encoding="utf-8")


def test_a_guide_is_what_its_file_says():
    guide = load_guide("heron")
    step = guide.step("hand-one")
    assert step is not None
    assert (step.place, step.saved_by) == (("entry", Decimal(3)), "keep")
    assert [(value.when, value.say, value.mark) for value in step.value] == [
        (("motor one is left hand",), "one", "A1"),
        (("motor one is right hand",), "four", "A4"),
    ]
    assert guide.range(Quantity.OPENING_SPEED) == (Decimal(1), Decimal(12), Decimal(1))
    assert guide.code("N1") is not None and guide.code("E42") is None
    assert load_guide("thistle").code("5 1 blinks") is not None


@pytest.mark.parametrize(
    ("old", "new", "marker", "said"),
    [
        ('title = "Heron example"\n', "", None, "'title' is missing"),
        ('language = "en"', 'language = "xx"', 'language = "xx"', "unknown language 'xx'"),
        ("[[setting]]", "[[seting]]", "[[seting]]", "did you mean 'setting'?"),
        ('shows = "LU"', 'shows = "L-U"', 'shows = "L-U"', "one to four capital letters"),
        ('called = "entry two"', 'called = "the door"', 'called = "the door"', "nobody can say"),
        ('shows = "N4"', 'shows = "N3"', 'shows = "N3"', "'N3' is there twice"),
        ('entry = "hand-two"', 'entry = "hand-tow"', 'entry = "hand-tow"', "'hand-two'?"),
        ('search = "reverses"', 'search = "revers"', 'search = "revers"', "'reverses'?"),
        ("default = 7", "default = 13", "default = 13", "off its scale"),
        ("default = 70", "default = 72", "default = 72", "off its scale"),
        ('lowers = "opening_time"', 'lowers = "time"', 'lowers = "time"', "no quantity"),
        ("takes_s = 75", "takes_s = 0", "takes_s = 0", "greater than 0"),
        ("[learn]", "[lern]", "[lern]", "did you mean 'learn'?"),
    ],
)
def test_a_fault_is_named_with_file_line_and_way_out(old, new, marker, said):
    assert old in HERON
    text = HERON.replace(old, new, 1)
    with pytest.raises(ControllerError) as caught:
        parse_guide(text, "mine.toml")
    assert str(caught.value).startswith("mine.toml, line ")
    assert said in str(caught.value)
    if marker is not None:
        lines = [nth for nth, line in enumerate(text.splitlines(), 1) if marker in line]
        assert caught.value.line in lines


def test_steps_that_need_each_other_are_a_circle():
    text = HERON.replace(
        'why = "A keypad that is shut', 'needs = ["keep"]\nwhy = "A keypad that is shut', 1
    )
    with pytest.raises(ControllerError, match="open-up needs keep needs open-up"):
        parse_guide(text, "mine.toml")


def test_a_guide_of_another_language_is_refused_with_the_way_out(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(HERON, encoding="utf-8")
    with pytest.raises(ControllerError, match=r"is written in 'en'.*translate what is spoken"):
        load_guide(file, "es")
    assert load_guide(file, None).language == "en"


def test_a_name_that_is_neither_shipped_nor_a_file_lists_what_is_shipped():
    with pytest.raises(ControllerError, match="heron, lantern, thistle"):
        load_guide("hern")


@pytest.mark.parametrize("language", languages())
def test_the_guides_of_a_language_are_sound_and_differ_only_in_what_is_spoken(language):
    assert shipped_guides(language) == shipped_guides("en")
    for name in shipped_guides(language):
        assert guide_faults(name, language) == ()
        mine, english = load_guide(name, language), load_guide(name)
        spoken = {"name", "called", "say", "if_not", "why", "value"}
        assert [s.model_dump(exclude=spoken) for s in mine.set_up] == [
            s.model_dump(exclude=spoken) for s in english.set_up
        ]
        for one, other in zip(mine.set_up, english.set_up, strict=True):
            assert [v.model_dump(exclude={"say"}) for v in one.value] == [
                v.model_dump(exclude={"say"}) for v in other.value
            ]
        assert [c.mark for c in mine.codes] == [c.mark for c in english.codes]
        assert mine.learn.model_dump(include={"takes_s"}) == english.learn.model_dump(
            include={"takes_s"}
        )
        if language != "en":
            assert not {s.name for s in mine.set_up} & {s.name for s in english.set_up}


def test_the_example_of_the_docs_is_sound_and_every_key_is_explained():
    page = DOCS.read_text(encoding="utf-8")
    examples = re.findall(r"```toml\n(.+?)```", page, re.DOTALL)
    (whole,) = (text for text in examples if text.startswith("title"))
    guide = parse_guide(whole, "docs.toml")
    kinds = (guide, guide.set_up[0], guide.learn, guide.settings[0], guide.codes[0])
    own = {"name", "sha256", "entries", "place", "controls", "settings", "codes"}
    for kind in kinds:
        for key in type(kind).model_fields.keys() - own:
            assert f"`{key}`" in page, key


def test_a_guide_that_leaves_a_case_open_is_read_for_a_visit_and_refused_by_its_check(tmp_path):
    """The visit says before it begins which entry has no value for this door."""
    text = (SHIPPED / "en" / "heron.toml").read_text(encoding="utf-8")
    gap = '    { when = ["motor two is right hand"], say = "four", shows = "C4" },\n'
    assert gap in text
    file = tmp_path / "gap.toml"
    file.write_text(text.replace(gap, ""), encoding="utf-8")
    (fault,) = guide_faults(file)
    assert "'hand-two' has no value for" in str(fault) and fault.line is not None
    assert load_guide(file).step("hand-two") is not None
    file.write_text(text.replace(gap, "").replace('called = "entry', 'caled = "entry', 1))
    with pytest.raises(ControllerError, match="unknown key 'caled'"):
        load_guide(file)
