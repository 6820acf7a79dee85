"""The picture of a tree shows the whole tree, and nothing overlaps."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.diagnosis.tree_svg import tree_svg

SVG = "{http://www.w3.org/2000/svg}"


def boxes(picture):
    return [
        tuple(float(rect.get(key)) for key in ("x", "y", "width", "height"))
        for rect in picture.iter(f"{SVG}rect")
    ]


@pytest.mark.parametrize("name", shipped_trees())
def test_every_check_and_cause_is_in_the_picture(name):
    tree = load_tree(name)
    picture = ET.fromstring(tree_svg(tree))
    said = {" ".join(t.itertext()) for t in picture.iter(f"{SVG}text")}
    spaced = {
        " ".join(part.text for part in text.iter(f"{SVG}tspan"))
        for text in picture.iter(f"{SVG}text")
    }
    for check in tree.checks:
        assert any(each.startswith(check.ask) for each in spaced), check.id
    for cause in tree.causes:
        assert cause.found in spaced, cause.id
    assert tree.title in said


@pytest.mark.parametrize("name", shipped_trees())
def test_no_box_covers_another_or_leaves_the_picture(name):
    picture = ET.fromstring(tree_svg(load_tree(name)))
    width, height = float(picture.get("width")), float(picture.get("height"))
    placed = boxes(picture)
    for nth, (x, y, w, h) in enumerate(placed):
        assert x >= 0 and x + w <= width and y >= 0 and y + h <= height
        for other_x, other_y, other_w, other_h in placed[:nth]:
            apart = (
                x + w <= other_x or other_x + other_w <= x or y + h <= other_y
                or other_y + other_h <= y
            )  # fmt: skip
            assert apart


def test_letters_of_markup_are_escaped(tmp_path):
    tree = load_tree("slams").model_copy(update={"title": "<b>&"})
    assert "<b>" not in tree_svg(tree)
