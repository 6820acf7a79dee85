"""The content of batches, drawn in this process or in others."""

import random

import numpy as np
import torch

from handsfree.training.batch_plans import Draws, plans
from handsfree.training.sound_bank import Bank


def test_processes_draw_as_well_as_this_one():
    held = Bank.empty(60 / 3600, torch.device("cpu"))
    for number in range(4):
        held.add_utterance("words", np.full(8_000, 1000, np.int16), ((number + 1,),))
    random.seed(4)
    drawn = [next(drawing) for drawing in (plans(held, 6), plans(held, 6, processes=2))]
    for plan in drawn:
        assert len(plan.ways) == len(plan.lengths) == len(plan.rows[0]) == 6
        assert all(1 <= phone <= 4 for usual, _ in plan.ways for phone in usual)
        assert (plan.lengths > 8_000 / 1.25).all()
        # The n-th pieces are those of the first utterances, which have most.
        assert [len(each) for each in plan.rows] == sorted(map(len, plan.rows), reverse=True)
    assert drawn[0].lengths.tolist() != drawn[1].lengths.tolist()


def test_rare_words_are_drawn_more_often_than_they_are_there():
    held = Bank.empty(60 / 3600, torch.device("cpu"))
    for number in range(17):
        phones = (1,) if number else (2,)
        held.add_utterance("words", np.full(8_000, 1000, np.int16), (phones,))
    random.seed(9)
    draws = Draws(held)
    rare = sum(draws.piece("words").ways[0] == (2,) for _ in range(4000)) / 4000
    # One to sixteen to the power 0.3, which is 2.3: not one in seventeen.
    assert abs(rare - 1 / 3.3) < 0.03
