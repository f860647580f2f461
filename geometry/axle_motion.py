"""Motion of a beam axle: both knuckles and the beam, at each travel of the left wheel."""

from dataclasses import dataclass, replace

import numpy as np

from geometry.link_motion import body_motion, closed_poses, nowhere
from geometry.linkages.beam_axle import BeamAxle, both_sides
from geometry.linkages.closure import Closure, rod_closure, toe_held_closure
from geometry.linkages.conditions import Pose
from geometry.poses import Motion, Rod
from geometry.vectors import Array, turned


@dataclass(frozen=True)
class AxleMotion:
    """What the wheels of a beam axle and its beam do together, with one `Reach` for all.

    The steering axis of `left` and `right` is the kingpin, upward; `beam` has none (NaN).  The
    right wheel's spin axis, as measured, is the mirror image of the left one's.
    """

    left: Motion
    right: Motion
    beam: Motion

    def of_left(self) -> Motion:
        """Motion of the left wheel, which tells of the others too."""
        return replace(self.left, beam=self.beam, other_wheel=self.right)


def axle_motion(axle: BeamAxle, travel: Array, rod: Rod) -> AxleMotion:
    """Poses at which the left wheel center has risen by `travel` and the drag link stays as long.

    Parameters
    ----------
    axle : BeamAxle
        Points as measured; they may carry leading axes.
    travel : (...) float array
        Rise of the left wheel center from the measured pose; the axle says what the right one
        does. [mm]
    rod : Rod
        The drag link, from the pitman ball to its end on the left knuckle.

    Returns
    -------
    AxleMotion
        Broadcast over all three; NaN with a `Reach` code where no pose exists: `ARMS_END` if the
        links end the way also when both knuckles turn freely, `ROD_ENDS` if the drag link or the
        cross rod can't follow.
    """
    return _motion(axle, rod_closure(axle, travel, rod.inner, rod.outer, rod.length))


def toe_held_axle_motion(axle: BeamAxle, travel: Array, spin: Array, toe: Array) -> AxleMotion:
    """The same without a drag link, where the left wheel keeps a wanted toe.

    Takes what `geometry.motion.toe_held_motion` does; the right wheel follows by the cross rod.
    """
    return _motion(axle, toe_held_closure(axle, travel, spin, toe))


def _motion(axle: BeamAxle, closure: Closure) -> AxleMotion:
    beams, reach = nowhere(closure)
    for rows, pose, _ in closed_poses(closure, reach):
        beams.put(rows, pose)
    beams = beams.reshaped(closure.measured.center.shape[:-1])
    knuckles, wheels = axle.knuckles(), both_sides(axle.wheel_center)
    both = knuckles.carried(beams).poses
    axes = turned(beams.rotation[..., None, :, :], knuckles.direction)
    left, right = (
        body_motion(
            Pose.rigid(both.rotation[..., k, :, :], both.center[..., k, :]),
            wheels[..., k, :],
            axes[..., k, :],
            reach,
        )
        for k in range(2)
    )
    none = np.full(beams.center.shape, np.nan)
    return AxleMotion(left, right, body_motion(beams, axle.center, none, reach))
