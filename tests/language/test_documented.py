"""docs/grammar.md and the grammar agree."""

import json
import re
from pathlib import Path

import pytest

from handsfree.job.door_feature import ANSWERS, FEATURES, answer_words, feature_words
from handsfree.job.quantity import QUANTITIES
from handsfree.job.visit_fact import VISIT_FACTS, visit_fact_words
from handsfree.language.tag_interpreter import KINDS

TEXT = (Path(__file__).parents[2] / "docs" / "grammar.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^\| (.+?) \| `(\{\"kind\".+\})` \|$", TEXT, re.MULTILINE)


@pytest.mark.parametrize(("said", "meaning"), EXAMPLES)
def test_a_documented_example_means_what_the_table_says(language, said: str, meaning: str):
    parsed = language.parse(said).model_dump(mode="json", exclude_none=True)
    assert parsed == json.loads(meaning)


def test_every_kind_has_an_example():
    assert {json.loads(meaning)["kind"] for _, meaning in EXAMPLES} == KINDS


def test_every_word_but_the_numbers_is_documented(language):
    # What is measured and what a door can be are listed in the user's guide, made from the rows.
    rows = [form for row in QUANTITIES.values() for form in row.words["en"].say]
    rows += [form for answer in ANSWERS for form in answer_words(answer, "en").say]
    for each in (feature_words(feature, "en") for feature in FEATURES):
        rows += [*each.state, *each.yes, *each.no]
    facts = [visit_fact_words(fact, "en") for fact in VISIT_FACTS]
    rows += [form for fact in facts for form in fact.say]
    rows += [form for fact in facts for answer in fact.values.values() for form in answer.say]
    forms = " ".join(rows)
    documented = set(re.findall(r"[a-z]+(?:'t)?", f"{TEXT} {forms}".lower()))
    documented |= {"inches", "millimeter", "centimeter"}
    documented |= {f"{word}s" for word in documented}
    number = {word for _, word, _ in language.automaton("number").arcs}
    assert language.words() - number - documented == set()
