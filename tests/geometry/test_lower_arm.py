"""The lower arm as a body: what is fixed to it swings with it."""

import numpy as np
import pytest

from geometry.linkages.lower_arm import JointCircle, arm_turn, extended_joint
from geometry.vectors import turned

LENGTH_ATOL_MM = 1e-9

FRONT, REAR = np.array([160.0, 365.0, 205.0]), np.array([-190.0, 350.0, 212.0])
JOINT, BRACKET = np.array([0.0, 735.0, 190.0]), np.array([-60.0, 560.0, 214.0])
SWING = np.linspace(-0.6, 0.6, 7)


@pytest.mark.parametrize("pivots", [(FRONT, REAR), (REAR, FRONT)], ids=["as named", "swapped"])
def test_what_is_fixed_to_the_arm_swings_as_far_as_its_ball_joint(pivots):
    turn = arm_turn(*pivots, JOINT, JointCircle.of(*pivots, JOINT).joint(SWING))
    swung = REAR + turned(turn, BRACKET - REAR)
    expected = JointCircle.of(FRONT, REAR, BRACKET).joint(SWING)
    assert swung == pytest.approx(expected, abs=LENGTH_ATOL_MM)


@pytest.mark.parametrize("pivots", [(FRONT, REAR), (REAR, FRONT)], ids=["as named", "swapped"])
def test_a_joint_is_raised_by_the_swing_that_is_found_for_it_and_no_farther_than_it_goes(pivots):
    circle, rise = JointCircle.of(*pivots, JOINT), np.linspace(-300.0, 300.0, 13)
    raised = circle.joint(circle.swing(rise))[..., 2] - JOINT[2]
    assert raised == pytest.approx(rise, abs=LENGTH_ATOL_MM)
    highest = circle.joint(circle.swing(np.array([2000.0, 5000.0])))
    assert highest[0] == pytest.approx(highest[1], abs=LENGTH_ATOL_MM)
    assert highest[0, 2] >= circle.joint(np.linspace(-3.0, 3.0, 601))[:, 2].max()


def test_an_arm_whose_joint_is_out_of_reach_carries_nothing():
    turn = arm_turn(FRONT, REAR, JOINT, np.array([[np.nan] * 3, JOINT]))
    assert np.isnan(turn).all(axis=(1, 2)).tolist() == [True, False]


def test_an_extension_moves_the_joint_along_its_own_stud_and_straight_down_if_none_is_said():
    along = np.array([0.0, 0.6, -0.8])
    tilted, straight = extended_joint(JOINT, 30.0, along), extended_joint(JOINT, 30.0)
    assert tilted - JOINT == pytest.approx(np.array([0.0, 18.0, -24.0]), abs=LENGTH_ATOL_MM)
    assert straight - JOINT == pytest.approx(np.array([0.0, 0.0, -30.0]), abs=LENGTH_ATOL_MM)
