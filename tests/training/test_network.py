"""The context of an output, and a batch gives the same as single frames."""

import torch

from handsfree.training.features import DIM
from handsfree.training.network import LEFT, RIGHT, Network, padded


def trained(width: int = 16) -> Network:
    torch.manual_seed(2)
    network = Network(width)
    network(torch.randn(4, LEFT + 30 + RIGHT, DIM) * 3 + 1)
    return network.eval()


def test_an_output_hears_its_context_and_no_more():
    features = torch.randn(1, LEFT + 30 + RIGHT, DIM, generator=torch.Generator().manual_seed(3))
    features.requires_grad_()
    output = 4
    trained()(features)[0, output].abs().sum().backward()
    assert features.grad is not None
    heard = features.grad[0].abs().sum(1).nonzero().flatten()
    centre = LEFT + 3 * output
    assert (heard.min(), heard.max()) == (centre - LEFT, centre + RIGHT)


def test_the_context_lies_in_the_half_second_around_each_utterance():
    # recognition/recognizer.py pads so much; nothing waits for context, for utterances are whole.
    assert LEFT * 10 <= 500 and RIGHT * 10 <= 500


def test_every_third_frame_of_a_batch_is_that_frame_alone():
    network, features = trained(), torch.randn(1, LEFT + 20 + RIGHT, DIM)
    together = network(features)[0]
    assert len(together) == 7
    for index, frame in enumerate(together):
        alone = network(features[:, 3 * index : 3 * index + LEFT + 1 + RIGHT])[0]
        assert torch.allclose(alone[0], frame, atol=1e-5)


def test_edges_are_repeated_for_the_context():
    features = torch.arange(3.0)[:, None].expand(-1, DIM)
    whole = padded(features)
    assert whole[:, 0].tolist() == [0.0] * LEFT + [0.0, 1.0, 2.0] + [2.0] * RIGHT
