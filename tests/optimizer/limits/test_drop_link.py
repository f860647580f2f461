"""A drop link that is pulled straight between the places at which limits are looked at first."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.limits.margins import first_places, margins
from optimizer.models.obstacles import Link
from tests.optimizer.command_line import STRUT

AS_IS = Settings.single()
ACROSS = np.array([0.0, 60.0, 0.0])  # the bar lies across the car
# Where the link's joint on the strut, the bar's end and the bar itself were measured.
STRAIGHT = np.array([[-48.0, 589.0, 496.0], [-7.0, 587.0, 605.0], [-68.0, 587.0, 496.0]])
SOUND = np.array([[-62.0, 655.0, 470.0], [-66.0, 668.0, 196.0], [95.0, 668.0, 205.0]])


def with_link(points: np.ndarray) -> Evaluator:
    """The strut car with nothing around it but a link, far from the tie rod."""
    start, end, bar = points
    link = Link(
        name="drop link",
        fixed_to="upright",
        start=tuple(start),
        end=tuple(end),
        bar_axis=(tuple(bar - ACROSS), tuple(bar + ACROSS)),
        diameter=10.0,
    )
    return Evaluator.of(read_case(STRUT).model_copy(update={"obstacles": (link,)}))


def follows(points: np.ndarray, travel: np.ndarray, rack: np.ndarray) -> np.ndarray:
    """Whether the link reaches the circle of the bar's end: a triangle of its three distances."""
    start, end, bar = points
    now = with_link(points).motion(AS_IS, travel, rack).moved(start)[0]
    arm = np.hypot(*(end - bar)[[0, 2]])
    apart = np.hypot(*(now - bar)[:, [0, 2]].T)
    length = np.sqrt(np.sum((end - start) ** 2) - (now - end)[:, 1] ** 2)
    return (np.abs(arm - length) <= apart) & (apart <= arm + length)


@pytest.mark.parametrize("follow", ["undecided", "smallest"])
@pytest.mark.parametrize(("points", "everywhere"), [(STRAIGHT, False), (SOUND, True)])
def test_a_link_that_is_pulled_straight_on_the_way_alone_is_refused(points, everywhere, follow):
    rack, travel = first_places(with_link(points))
    assert follows(points, travel, rack).all()
    sides = np.meshgrid(np.linspace(-60.0, 50.0, 56), np.linspace(-62.0, 62.0, 63))
    assert follows(points, *(side.ravel() for side in sides)).all() == everywhere
    found = margins(with_link(points), AS_IS, follow=follow)
    (reach,) = (one for one in found if one.kind == "reach" and one.name == "drop link")
    assert (reach.margin[0] > 0.0) == everywhere
    assert follows(points, reach.travel, reach.rack_travel)[0] == everywhere


def test_a_link_that_can_t_follow_is_told_as_that_alone_not_by_how_much_a_bound_falls_short():
    crooked = np.array([[-64.0, 582.0, 550.0], [-8.0, 590.0, 560.0], [-19.0, 615.0, 528.0]])
    found = margins(with_link(crooked), AS_IS, follow="broken")
    assert [one.value[0] for one in found if one.name == "drop link"] == [-1.0]
