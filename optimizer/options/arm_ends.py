"""How far the arms let the wheel rise and fall, whatever is fitted."""

import numpy as np

from geometry.motion import Reach, toe_held_motion
from optimizer.car.ride_heights import RideHeights

STEPS = 33  # poses by which the end of the arms' travel is narrowed down, twice


def arm_ends(heights: RideHeights, drop: int) -> tuple[float, float]:
    """Lowest and highest rise of the wheel that the arms allow with static toe held. [mm]."""
    evaluator = heights.evaluators[0]
    poses = [one.poses(drop) for one in heights.evaluators]
    rise = np.concatenate([pose.travel for pose in poses])
    sound = np.concatenate([np.isfinite(pose.translation).all(axis=1) for pose in poses])
    ends = []
    for sign in (-1.0, 1.0):
        near = max(0.0, (sign * rise[sound]).max(initial=0.0))
        beyond = sign * rise[~sound]
        far = beyond[beyond > near].min(initial=np.inf)
        for _ in range(2 if np.isfinite(far) else 0):
            tried = np.linspace(near, far, STEPS)
            motion = toe_held_motion(
                evaluator.corner.linkage(drop),
                sign * tried,
                evaluator.corner.spin,
                np.full(tried.shape, evaluator.static_toe),
            )
            last = int(np.flatnonzero(motion.reach[:-1] == Reach.REACHED).max(initial=0))
            near, far = tried[last], tried[last + 1]
        ends.append(sign * near if np.isfinite(far) else sign * np.inf)
    return float(ends[0]), float(ends[1])
