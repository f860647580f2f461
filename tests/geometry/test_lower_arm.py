"""The lower arm as a body: what is fixed to it swings with it."""

import numpy as np
import pytest

from geometry.linkages.lower_arm import arm_joint, arm_turn, extended_joint
from geometry.vectors import turned

LENGTH_ATOL_MM = 1e-9

FRONT, REAR = np.array([160.0, 365.0, 205.0]), np.array([-190.0, 350.0, 212.0])
JOINT, BRACKET = np.array([0.0, 735.0, 190.0]), np.array([-60.0, 560.0, 214.0])
SWING = np.linspace(-0.6, 0.6, 7)


@pytest.mark.parametrize("pivots", [(FRONT, REAR), (REAR, FRONT)], ids=["as named", "swapped"])
def test_what_is_fixed_to_the_arm_swings_as_far_as_its_ball_joint(pivots):
    turn = arm_turn(*pivots, JOINT, arm_joint(*pivots, JOINT, SWING))
    swung = REAR + turned(turn, BRACKET - REAR)
    assert swung == pytest.approx(arm_joint(FRONT, REAR, BRACKET, SWING), abs=LENGTH_ATOL_MM)


def test_an_arm_whose_joint_is_out_of_reach_carries_nothing():
    turn = arm_turn(FRONT, REAR, JOINT, np.array([[np.nan] * 3, JOINT]))
    assert np.isnan(turn).all(axis=(1, 2)).tolist() == [True, False]


def test_an_extension_moves_the_joint_along_its_own_stud_and_straight_down_if_none_is_said():
    along = np.array([0.0, 0.6, -0.8])
    tilted, straight = extended_joint(JOINT, 30.0, along), extended_joint(JOINT, 30.0)
    assert tilted - JOINT == pytest.approx(np.array([0.0, 18.0, -24.0]), abs=LENGTH_ATOL_MM)
    assert straight - JOINT == pytest.approx(np.array([0.0, 0.0, -30.0]), abs=LENGTH_ATOL_MM)
