"""The loss, compared with torch's CTC and with an enumeration of all paths."""

from itertools import product

import torch
from torch.nn import functional

from handsfree.training.ctc import BLANK, loss_with_prior
from handsfree.training.network import OUTPUTS

FLAT = torch.full((OUTPUTS,), 1 / OUTPUTS)


def logits(frames: int, seed: int) -> torch.Tensor:
    generator = torch.Generator().manual_seed(seed)
    return torch.randn(1, frames, OUTPUTS, generator=generator) * 2


def test_without_a_prior_its_gradient_is_that_of_ctc():
    ours, theirs = logits(9, 1).requires_grad_(), logits(9, 1).requires_grad_()
    said = (3, 3, 7)
    loss, _ = loss_with_prior(
        ours.log_softmax(-1), torch.tensor([9]), [[said, said]], FLAT, power=0.0
    )
    loss.backward()
    nll = functional.ctc_loss(
        theirs.log_softmax(-1).transpose(0, 1),
        torch.tensor([said]),
        torch.tensor([9]),
        torch.tensor([3]),
        reduction="none",
    )
    (nll.sum() / 9).backward()
    assert ours.grad is not None and theirs.grad is not None
    assert torch.allclose(ours.grad, theirs.grad, atol=1e-5)


def test_with_a_prior_the_target_is_the_posterior_over_all_paths():
    x = logits(4, 2).requires_grad_()
    log_probs = x.log_softmax(-1)
    prior = torch.softmax(torch.randn(OUTPUTS, generator=torch.Generator().manual_seed(3)), 0)
    said = (5, 9)
    loss, _ = loss_with_prior(log_probs, torch.tensor([4]), [[said, said]], prior, power=0.35)
    loss.backward()
    scores = (log_probs.detach() - 0.35 * torch.log(prior + 1e-6))[0]
    posterior = torch.zeros(4, OUTPUTS)
    for path in product((BLANK, *said), repeat=4):
        kept = [p for p, before in zip(path, (None, *path), strict=False) if p != before]
        if tuple(p for p in kept if p != BLANK) == said:
            weight = torch.exp(sum(scores[t, p] for t, p in enumerate(path)))
            for t, p in enumerate(path):
                posterior[t, p] += weight
    posterior /= posterior.sum(1, keepdim=True)
    expected = (x.detach().softmax(-1)[0] - posterior) / 4
    assert x.grad is not None
    assert torch.allclose(x.grad[0], expected, atol=1e-5)


def test_what_is_surely_heard_is_still_learned_from():
    """With the prior divided out, scores are no probabilities: their log may be positive."""
    sure = torch.full((1, 4, OUTPUTS), -9.0)
    sure[0, [0, 1, 2, 3], [BLANK, 5, BLANK, 9]] = 9.0
    x = sure.requires_grad_()
    prior = torch.full((OUTPUTS,), 0.005)
    loss, _ = loss_with_prior(
        x.log_softmax(-1), torch.tensor([4]), [[(5, 9), (5, 9)]], prior, power=0.35
    )
    assert torch.isfinite(loss)


def test_the_likelier_way_to_say_it_counts():
    x = logits(6, 4)
    x[0, :, 5] += 8.0
    both, _ = loss_with_prior(
        x.log_softmax(-1), torch.tensor([6]), [[(9, 7), (5,)]], FLAT, power=0.0
    )
    alone, _ = loss_with_prior(
        x.log_softmax(-1), torch.tensor([6]), [[(5,), (5,)]], FLAT, power=0.0
    )
    assert torch.equal(both, alone)


def test_what_has_too_few_frames_is_not_learned_and_spoils_nothing():
    both = torch.cat([logits(6, 5), logits(6, 6)]).requires_grad_()
    alone = logits(6, 5).requires_grad_()
    fits, too_long = [(5, 9), (5, 9)], [(5,) * 4, (5,) * 4]
    loss, _ = loss_with_prior(
        both.log_softmax(-1), torch.tensor([6, 6]), [fits, too_long], FLAT, power=0.35
    )
    loss.backward()
    expected, _ = loss_with_prior(
        alone.log_softmax(-1), torch.tensor([6]), [fits], FLAT, power=0.35
    )
    expected.backward()
    assert both.grad is not None and alone.grad is not None
    assert torch.allclose(both.grad[0], alone.grad[0])
    assert torch.equal(both.grad[1], torch.zeros(6, OUTPUTS))
