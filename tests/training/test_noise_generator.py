"""What the noises of the training do to a spectrum and over time."""

import torch

from handsfree.training.noise_generator import at_one_level, colored, swelling, tinted


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
