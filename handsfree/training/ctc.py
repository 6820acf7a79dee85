"""CTC with a label prior: words start where they are heard, and the blank stays modest."""

from __future__ import annotations

import torch
from torch import Tensor
from torch.nn import functional

from handsfree.training.network import OUTPUTS

BLANK = 0


def loss_with_prior(
    log_probs: Tensor,
    lengths: Tensor,
    ways: list[list[tuple[int, ...]]],
    prior: Tensor,
    power: float,
) -> tuple[Tensor, Tensor]:
    """Cross-entropy against the alignment that CTC finds with the prior divided out.

    ``log_probs`` (batch, time, OUTPUTS) of which ``lengths`` (batch) frames count;
    ``ways``: two ways to say each utterance, of which the likelier one counts. The
    gradient of CTC's loss gives the posterior of each output; with the prior taken off it
    leans less to the blank, and that is what the network is taught. Returns the loss and
    the mean output, for the next prior.
    """
    batch, time, _ = log_probs.shape
    scores = (log_probs.detach() - power * torch.log(prior + 1e-6)).transpose(0, 1).contiguous()
    nll = torch.stack([_ctc(scores, lengths, [w[n] for w in ways]) for n in range(2)])
    likelier = torch.nan_to_num(nll, posinf=torch.finfo(nll.dtype).max).argmin(0).tolist()
    scores.requires_grad_()
    chosen = _ctc(scores, lengths, [w[n] for w, n in zip(ways, likelier, strict=True)])
    (gradient,) = torch.autograd.grad(chosen.sum(), scores)
    posterior = (scores.detach().exp() - gradient).transpose(0, 1)
    inside = torch.arange(time, device=log_probs.device)[None] < lengths[:, None]
    inside &= torch.isfinite(chosen)[:, None]
    loss = -(posterior * log_probs).sum(-1)[inside].sum() / inside.sum()
    mean = log_probs.detach().exp()[inside].mean(0)
    assert mean.shape == (OUTPUTS,)
    return loss, mean


def _ctc(scores: Tensor, lengths: Tensor, said: list[tuple[int, ...]]) -> Tensor:
    """The negative log-likelihood of each; infinite for what does not fit its frames."""
    targets = torch.tensor([p for phones in said for p in phones], device=scores.device)
    counts = torch.tensor([len(phones) for phones in said], device=scores.device)
    with torch.backends.cudnn.flags(enabled=False):
        return functional.ctc_loss(
            scores, targets, lengths, counts, blank=BLANK, reduction="none"
        )
