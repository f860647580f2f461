"""How an upright goes along with toe while its wheel center's height is held.

Of what holds it at a pose, only the toe is let go: the step that closes all else again, and a
radian more of toe, is one more solution with the Jacobian at that pose (implicit function theorem).
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.link_motion import JUMP, WALK, Attempt, closed_poses, nowhere
from geometry.linkages import Axle, Linkage, LinkSet
from geometry.linkages.closure import Closure, toe_held_closure
from geometry.linkages.conditions import ARM, Pose
from geometry.motion import toe_held_motion
from geometry.newton import Jumped, jumped_pose, solution
from geometry.poses import Rows
from geometry.vectors import Array, cross, dot, turned, vectors


@dataclass(frozen=True)
class ToeHeldUpright:
    """Upright, or left knuckle, at a held toe, and how it goes along with more of it.

    `rotation` (..., 3, 3) since measured and `center` (..., 3), the wheel center [mm]; per radian
    of toe it turns by `turn` (..., 3) [rad] about the wheel center, which moves by `move`
    (..., 3). [mm]  `gone` is where the body that was solved has gone, counted from where it was
    measured; of an axle that is the beam.
    """

    rotation: Array
    center: Array
    turn: Array
    move: Array
    gone: Pose


def toe_held_upright(
    linkage: Linkage, travel: Array, spin: Array, toe: Array, near: Pose | None = None
) -> ToeHeldUpright:
    """Poses of `geometry.motion.toe_held_motion`, which takes the same, and their toe rates.

    NaN where no pose exists.  `near` (K,) says where a linkage much like these has `gone` at each
    of K travels, the last axis: that saves Newton's method a step or two.
    """
    if isinstance(linkage, LinkSet | Axle):
        closure = toe_held_closure(linkage, travel, spin, toe)
        pose, step = _solved(closure, near)
    else:
        closure = toe_held_closure(linkage.link_set(), travel, spin, toe)
        motion = toe_held_motion(linkage, travel, spin, toe)
        pose = Pose.rigid(motion.rotation, motion.moved(linkage.wheel_center))
        step = _per_steer(closure.rows(pose)[1])
    center, turn, move = pose.center, step[..., :3] / ARM, step[..., 3:6]
    gone = Pose(pose.rotation, center - closure.measured.center, pose.turns)
    if isinstance(linkage, Axle):
        both, about = linkage.knuckles().carried(pose), step[..., 6:7] / ARM
        pose = both.pose(0)
        move = move + cross(turn, both.arm[..., 0, :]) + about * both.swing[..., 0, :]
        turn = turn + about * both.kingpin[..., 0, :]
    # What closes is `ARM` times the spin axis along the wheel's heading, which turns with toe.
    ahead = vectors(-np.sin(toe), -np.cos(toe), 0.0)
    rate = -ARM * dot(turned(pose.rotation, spin), ahead)[..., None]
    return ToeHeldUpright(pose.rotation, pose.center, rate * turn, rate * move, gone)


def _solved(closure: Closure, near: Pose | None) -> tuple[Pose, Array]:
    attempts = (JUMP, WALK) if near is None else (_jump_from(near), JUMP, WALK)
    poses, reach = nowhere(closure)
    steps = np.full((reach.size, 6 + poses.turns.shape[-1]), np.nan)
    for rows, pose, jacobian in closed_poses(closure, reach, attempts):
        poses.put(rows, pose)
        steps[rows] = _per_steer(jacobian)
    shape = closure.measured.center.shape[:-1]
    return poses.reshaped(shape), steps.reshape(*shape, -1)


def _jump_from(near: Pose) -> Attempt:
    def jump(index: Rows, part: Closure) -> Jumped:
        gone = near.taken(index[-1])
        return jumped_pose(part, replace(gone, center=part.measured.center + gone.center))

    return Attempt(jump)


def _per_steer(jacobian: Array) -> Array:
    """Step (..., N) per what the last condition, which steers, leaves open. [1/mm]"""
    steer = np.zeros((jacobian.shape[-1], 1))
    steer[-1] = 1.0
    return solution(jacobian, steer)[..., 0]
