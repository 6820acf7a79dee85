"""The effect of the training's noises on the spectrum and over time."""

import torch

from handsfree.training.noise_generator import (
    at_one_level,
    colored,
    humming,
    knocking,
    swelling,
    tinted,
)


def test_colored_noise_has_more_of_the_low_than_of_the_high():
    torch.manual_seed(1)
    power = torch.fft.rfft(colored(200, 16_000, torch.device("cpu"))).abs() ** 2
    fall_db = 10 * torch.log10(power[:, 800:1000].mean(1) / power[:, 6400:8000].mean(1))
    # Three octaves of 0 to 6.6 dB each, ten on the average, and the tint.
    assert 8 < fall_db.mean() < 12
    assert fall_db.std() > 5


def test_a_tint_changes_bands_and_keeps_the_length():
    torch.manual_seed(2)
    white = torch.randn(50, 15_999)
    found = tinted(white)
    assert found.shape == white.shape
    gain_db = 20 * torch.log10(torch.fft.rfft(found).abs() / torch.fft.rfft(white).abs())
    bands = gain_db.unfold(1, 500, 500).median(-1).values
    assert 3 < bands.std() < 8
    assert (bands.amax(1) - bands.amin(1)).median() > 8


def test_half_of_the_rows_come_and_go_and_the_others_stay():
    torch.manual_seed(3)
    level = swelling(torch.ones(400, 32_000))
    steady = (level == 1).all(1)
    assert 0.4 < steady.float().mean() < 0.6
    moves_db = 20 * torch.log10(level[~steady].amax(1) / level[~steady].amin(1))
    assert 5 < moves_db.median() < 20.1


def test_one_level_is_a_root_mean_square_of_one():
    assert torch.allclose(at_one_level(torch.randn(3, 900) * 70).pow(2).mean(1), torch.ones(3))


def test_a_hum_is_lines_over_rumble():
    torch.manual_seed(4)
    power = torch.fft.rfft(humming(40, 16_000, torch.device("cpu"))).abs() ** 2
    low, high = power[:, 30:2300], power[:, 4000:7000]
    assert (low.mean(1) > 3 * high.mean(1)).float().mean() > 0.9
    # The strongest line stands far over its neighborhood, as no noise does.
    assert (low.amax(1) / low.median(1).values).median() > 100


def test_knocks_begin_at_once_and_ring_out():
    torch.manual_seed(5)
    level = knocking(60, 32_000, torch.device("cpu")).unfold(1, 160, 160).pow(2).mean(-1).sqrt()
    over_rest = level.amax(1) / level.median(1).values
    assert over_rest.median() > 4
    rises = (level[:, 1:] / level[:, :-1]).amax(1)
    falls = (level[:, :-1] / level[:, 1:]).amax(1)
    assert rises.median() > 1.5 * falls.median()
