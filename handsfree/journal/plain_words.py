"""Turns the names in a journal into plain words."""

from __future__ import annotations


def words_of(snake: str) -> str:
    """'same_way' as 'same way'."""
    return snake.replace("_", " ")


def step_words(key: str) -> str:
    """'opening-time:left leaf' as 'opening time, left leaf'; 'left leaf/sign' likewise."""
    return key.replace("-", " ").replace("_", " ").replace(":", ", ").replace("/", ", ")
