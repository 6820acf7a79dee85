import pytest
from pydantic import ValidationError

from handsfree.errors import GrammarError
from handsfree.language.tag_interpreter import check_tags, meaning_of


@pytest.mark.parametrize(
    ("tag", "says"),
    [
        ("color = red", "neither digits nor"),
        ("quantity", "no known value"),
        ("quantity = opening time", "no known value"),
        ("unit = kilos", "no known value"),
        ("kind = maybe", "no known value"),
    ],
)
def test_a_tag_that_means_nothing_is_named_with_its_line(grammar_of, tag: str, says: str):
    grammar = grammar_of("<top> = left\n | right {" + tag + "};")
    with pytest.raises(GrammarError, match=says) as caught:
        check_tags(grammar)
    assert (caught.value.file.name, caught.value.line) == ("small.jsgf", 4)


def test_a_correction_holds_the_reading_around_its_tags():
    said = meaning_of(("subject = left leaf", "6", ".", "2", "0", "unit = s", "kind = correction"))
    assert said.model_dump(mode="json", exclude_none=True) == {
        "kind": "correction",
        "reading": {"kind": "reading", "subject": "left leaf", "value": "6.20", "unit": "s"},
    }


def test_tags_of_half_a_meaning_are_refused():
    with pytest.raises(ValidationError):
        meaning_of(("subject = left leaf", "kind = reading"))
