"""The shipped trees have no faults, and every fault of a file is named with its line."""

from __future__ import annotations

import re

import pytest

from handsfree.diagnosis.search_tree import EFFORT_ORDER
from handsfree.diagnosis.tree_loader import faults_of, load_tree, shipped_trees
from handsfree.errors import SearchTreeError
from handsfree.language.wording import languages

SOUND = """\
title = "The door squeaks"
complaint = "it squeaks"
first = "hinges"

[[check]]
id = "hinges"
sees = "hinges_quiet"
effort = "look"
ask = "Are the hinges quiet?"
on = { yes = "arm", no = "hinges-dry" }
why = "It is the cheapest place to listen."

[[check]]
id = "arm"
sees = "arm_quiet"
effort = "press"
applies = ["pair"]
otherwise = "arm-dry"
ask = "Is the arm quiet?"
on = { yes = "hinges-dry", no = "arm-dry" }
why = "An arm creaks."

[[cause]]
id = "hinges-dry"
found = "The hinges are dry."
remedy = "Grease them."
work = "repaired"
prove = "Is it quiet now?"

[[cause]]
id = "arm-dry"
found = "The arm is dry."
remedy = "Grease it."
work = "repaired"
prove = "Is it quiet now?"
"""


@pytest.fixture
def file(tmp_path):
    def written(text):
        path = tmp_path / "squeaks.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def test_the_example_is_sound(file):
    tree = load_tree(file(SOUND))
    assert (tree.name, tree.complaint, tree.first) == ("squeaks", "it squeaks", "hinges")
    assert [check.id for check in tree.checks] == ["hinges", "arm"]


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('title = "The door squeaks"\n', "", 1, "'title' is missing"),
        ('title = "The door squeaks"', 'title = "Door 5 squeaks"', 1, "'5' in title"),
        ('complaint = "it', 'compliant = "it', 2, "did you mean 'complaint'"),
        ('first = "hinges"', 'first = "hinge"', 3, "begins at 'hinge'"),
        ('id = "arm"', 'id = "hinges"', 14, "there twice"),
        ('id = "hinges-dry"', 'id = "Hinges dry"', 24, "not a plain name"),
        ('sees = "hinges_quiet"', 'sees = "hinges quiet"', 7, "not a plain name"),
        ('effort = "look"', 'effort = "guess"', 8, "effort"),
        ('no = "hinges-dry" }', 'no = "hinge-dry" }', 10, "leads to 'hinge-dry'"),
        ('yes = "arm", no', "no", 10, "leads nowhere when the answer is 'yes'"),
        ('yes = "arm", no', 'yes = "arm", maybe = "arm", no', 10, "leads on from 'maybe'"),
        ('why = "It is the cheapest place to listen."\n', "", 6, "has no 'why'"),
        ('applies = ["pair"]', 'applies = ["pairs"]', 17, "unknown condition 'pairs'"),
        ('applies = ["pair"]', 'applies = ["pair", "single"]', 17, "exclude each other"),
        ('otherwise = "arm-dry"\n', "", 17, "applies and otherwise"),
        ('otherwise = "arm-dry"', 'otherwise = "arm-wet"', 18, "leads to 'arm-wet'"),
        ('{ yes = "hinges-dry", no', '{ yes = "hinges", no', 10, "leads back to itself"),
        ('work = "repaired"\nprove = "Is it quiet now?"\n\n', "", 23, "no 'work'"),
        ('no = "arm-dry" }', 'no = "hinges-dry" }', None, None),
        ('effort = "press"', 'effort = "press"\ncaution = "Mind it."', 17, "caution and word"),
        ('effort = "press"', 'effort = "press"\nanswers = { left = "left" }', 17, "single answer"),
    ],
)
def test_a_fault_is_named_with_its_line(file, old, new, line, said):
    assert old in SOUND
    faults = faults_of(file(SOUND.replace(old, new, 1)))
    if said is None:  # a change that leaves the tree sound
        assert faults == ()
        return
    assert any(fault.line == line and said in str(fault) for fault in faults), faults
    with pytest.raises(SearchTreeError):
        load_tree(file(SOUND.replace(old, new, 1)))


def test_a_cause_that_nothing_leads_to_is_a_fault(file):
    spare = SOUND + SOUND[SOUND.index("[[cause]]") :].split("[[cause]]")[1].join(["[[cause]]", ""])
    faults = faults_of(file(spare.replace('id = "hinges-dry"\nfound', 'id = "spare"\nfound', 2)))
    assert faults and all(isinstance(fault, SearchTreeError) for fault in faults)


def test_every_fault_is_named_at_once(file):
    broken = SOUND.replace('effort = "look"', 'effort = "guess"').replace('"pair"', '"pairs"')
    assert len(faults_of(file(broken))) >= 2


@pytest.mark.parametrize("text", ["title = ", "check = 5\n", "[check]\nid = 'a'\n"])
def test_what_is_no_tree_at_all_is_refused_in_one_line(file, text):
    with pytest.raises(SearchTreeError) as caught:
        load_tree(file(text))
    assert "\n" not in str(caught.value)


def test_there_are_trees_for_everything_that_a_service_desk_hears():
    assert len(shipped_trees()) >= 15
    learn = {name for name in shipped_trees() if name.startswith("learn-")}
    assert len(learn) == 4


@pytest.mark.parametrize("language", languages())
def test_shipped_trees_are_sound(language):
    for name in shipped_trees(language):
        assert faults_of(name, language) == (), name


def test_the_languages_have_the_same_trees_with_the_same_branches():
    for language in languages():
        assert shipped_trees(language) == shipped_trees()
        for name in shipped_trees():
            one, other = load_tree(name), load_tree(name, language)
            assert [
                (check.id, check.sees, check.effort, check.on, check.applies, check.otherwise)
                for check in one.checks
            ] == [
                (check.id, check.sees, check.effort, check.on, check.applies, check.otherwise)
                for check in other.checks
            ], name
            assert [(cause.id, cause.work) for cause in one.causes] == [
                (cause.id, cause.work) for cause in other.causes
            ], name


@pytest.mark.parametrize("name", shipped_trees())
def test_a_search_begins_with_what_is_cheap_and_safe(name):
    tree = load_tree(name)
    first = tree.node(tree.first)
    assert EFFORT_ORDER.index(first.effort) <= EFFORT_ORDER.index("tools"), first
    assert first.caution is None or name == "learn-wrong-way"


@pytest.mark.parametrize("name", shipped_trees())
def test_line_voltage_is_never_measured_without_a_caution(name):
    for check in load_tree(name).checks:
        low = "strike" in check.sees or "magnet" in check.sees  # locks of 12 or 24 volts
        if "voltage" in check.sees and not low:
            assert check.caution is not None and "licensed" in check.caution, check.id


@pytest.mark.parametrize("name", shipped_trees())
def test_no_remedy_bypasses_a_sensor_or_moves_a_door_without_a_clear_path(name):
    for cause in load_tree(name).causes:
        allowed = re.sub(r"Never (cover or )?bypass", "", cause.remedy)
        assert "bypass" not in allowed, cause.id
        assert "jumper" not in cause.remedy


AGAIN = re.compile(r"learn (cycle|its travel)|learn the closed|ciclo de aprendizaje|que aprender")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", shipped_trees())
def test_a_remedy_that_lets_the_door_learn_says_so_and_the_tool_asks_for_the_clear_path(
    name, language
):
    """No remedy sends anybody to a learn cycle in its own words: it would pass no caution."""
    for cause in load_tree(name, language).causes:
        assert not re.search(r"learn cycle|ciclo de aprendizaje", cause.remedy), cause.id
        assert cause.learn or not AGAIN.search(cause.remedy), cause.id


@pytest.mark.parametrize("name", shipped_trees())
def test_both_languages_learn_again_after_the_same_causes(name):
    learn = [
        {cause.id for cause in load_tree(name, language).causes if cause.learn}
        for language in ("en", "es")
    ]
    assert learn[0] == learn[1]
