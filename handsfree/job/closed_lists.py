"""Closed lists that several rooms share: answers, stages of a visit, speech levels."""

from __future__ import annotations

from typing import Literal

from handsfree.job.door_feature import ANSWERS

COMPLAINTS = (
    *("slams", "stays_open", "does_not_open", "hits_people", "will_not_latch"),
    *("opens_by_itself", "opens_too_fast", "opens_too_slow", "reverses", "strike_hangs"),
    "magnet_fails",
    *("leaf_does_not_follow", "wrong_order", "noise", "one_plate_only"),
    *("stops_after_power_cut", "learn_does_not_start", "learn_stops_early", "learn_wrong_way"),
    "learn_ends_in_error",
)
"""The complaints about a door; each has a search tree of the same name."""

CHOICES = (
    *("left", "right", "both", "pair", "label", "scale", "estimate", "in_order", "not_in_order"),
    *ANSWERS,
    *COMPLAINTS,
    *("opens", "closes", "all_way", "end"),
)
"""Every answer that a step or a search can offer, and that can be spoken."""

STAGES = (
    *("safe", "power-off", "survey", "by-hand", "motors", "power-on", "settings", "learn"),
    *("times", "forces", "activation", "sensors", "signs", "latch", "fire", "whole-door"),
    *("hand-over", "complaint", "search", "daily"),
)
"""The ids that a stage can have; each can be spoken in 'go to the force checks'."""

Confirm = Literal["doubtful", "every"]
"""The answers that need 'affirm': the doubtful ones, or every value that is read back."""

Accepted = Literal["explicit", "implicit", "typed"]
"""The way an answer came to count: by 'affirm'; by being said back and not taken back with the
next answer; the same for a typed answer.
"""

SpeechLevel = Literal["full", "brief", "silent"]
"""The amount of speech: full prompts, brief ones, or tones and only what must be spoken."""
