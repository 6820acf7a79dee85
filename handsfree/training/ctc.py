"""CTC loss with a label prior, which places words where they are heard and limits the blank."""

from __future__ import annotations

import torch
from torch import Tensor
from torch.nn import functional

from handsfree.training.network import OUTPUTS
from handsfree.training.sound_bank import sent

BLANK = 0


def loss_with_prior(
    log_probs: Tensor,
    lengths: Tensor,
    ways: list[list[tuple[int, ...]]],
    prior: Tensor,
    power: float,
) -> tuple[Tensor, Tensor]:
    """Cross-entropy with the alignment that CTC finds after dividing by the prior.

    ``log_probs`` has shape (batch, time, OUTPUTS), of which ``lengths`` (batch, on the host) frames
    count. ``ways`` holds two pronunciations of each utterance, of which the likelier one counts.
    The gradient of CTC's loss gives the posterior of each output; without the prior it favors the
    blank less, and that is the target for the network. Returns the loss and the mean output, for
    the next prior. Never waits for the device.
    """
    size, time, _ = log_probs.shape
    device = log_probs.device
    scores = (log_probs.detach() - power * torch.log(prior + 1e-6)).transpose(0, 1)
    both = scores.repeat(1, 2, 1).requires_grad_()
    nll = _ctc(both, lengths.repeat(2), [way[n] for n in range(2) for way in ways])
    (gradient,) = torch.autograd.grad(nll.sum(), both)
    usual, other = nll.detach().nan_to_num(posinf=torch.finfo(nll.dtype).max).view(2, size)
    gradient = torch.where((other < usual)[:, None], gradient[:, size:], gradient[:, :size])
    posterior = (scores.exp() - gradient).transpose(0, 1)
    fits = torch.isfinite(nll.detach()).view(2, size).any(0)
    inside = torch.arange(time, device=device)[None] < sent(lengths, device)[:, None]
    inside = (inside & fits[:, None])[..., None]
    count = inside.sum().clamp_min(1)
    loss = -(torch.where(inside, posterior, 0.0) * log_probs).sum() / count
    mean = (log_probs.detach().exp() * inside).sum((0, 1)) / count
    assert mean.shape == (OUTPUTS,)
    return loss, mean


def _ctc(scores: Tensor, lengths: Tensor, said: list[tuple[int, ...]]) -> Tensor:
    """The negative log-likelihood of each utterance; infinite if it does not fit its frames."""
    targets = sent(torch.tensor([p for phones in said for p in phones]), scores.device)
    counts = torch.tensor([len(phones) for phones in said])
    with torch.backends.cudnn.flags(enabled=False):
        return functional.ctc_loss(scores, targets, lengths, counts, blank=BLANK, reduction="none")
