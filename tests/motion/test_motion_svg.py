"""The picture of a measured leaf."""

from __future__ import annotations

from xml.etree import ElementTree

from handsfree.motion.measure import measure
from handsfree.motion.motion_svg import motion_svg
from tests.motion.closed_form import even, log_of_angles

NAMES = ("starts to move", "backcheck or 80 degrees", "fully open", "ten degrees", "latched")


def test_the_picture_is_well_formed_and_names_moments_and_limit() -> None:
    measured = measure(log_of_angles(even(90, 4.5, 6.0, 5.0), 21.0))
    picture = motion_svg(measured, 19.0, 1.69, unit="lbf ft", per_j=0.7376)
    ElementTree.fromstring(picture)
    for name in NAMES:
        assert name in picture
    assert "limit 1.25 lbf ft" in picture and len(picture) < 60_000


def test_without_an_inertia_it_shows_the_speed() -> None:
    measured = measure(log_of_angles(even(90, 4.5, 6.0, 5.0), 21.0))
    picture = motion_svg(measured, None, 1.69, unit="J", per_j=1.0)
    assert "degrees a second" in picture and "limit" not in picture
