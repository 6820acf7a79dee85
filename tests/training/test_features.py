"""Features compared with kaldi-native-fbank, an independent port of Kaldi's front end."""

import numpy as np
import pytest
import torch

from handsfree.training.features import Mfcc

fbank = pytest.importorskip("kaldi_native_fbank", reason="comes with the train extra")


def kaldi_mfcc(samples: np.ndarray) -> np.ndarray:
    options = fbank.MfccOptions()
    options.frame_opts.dither = 0.0
    options.frame_opts.samp_freq = 16000
    options.mel_opts.num_bins = 40
    options.mel_opts.low_freq = 20
    options.mel_opts.high_freq = -400
    options.num_ceps = 40
    options.use_energy = False
    online = fbank.OnlineMfcc(options)
    online.accept_waveform(16000, samples.tolist())
    online.input_finished()
    return np.stack([online.get_frame(i) for i in range(online.num_frames_ready)])


def test_they_are_kaldi_s():
    rng = np.random.default_rng(4)
    glide = 3000 * np.sin(np.cumsum(np.linspace(0.05, 1.2, 16000)))
    samples = np.rint(glide + rng.normal(0, 200, 16000)).astype(np.float32)
    ours = Mfcc()(torch.from_numpy(samples)[None])[0].numpy()
    theirs = kaldi_mfcc(samples)
    assert ours.shape == theirs.shape == (98, 40)
    assert np.abs(ours - theirs).max() < 0.01
