"""What fitting and reading ask of the workshop, in washers and minutes; common practice."""

from optimizer.models.base import FrozenModel
from optimizer.models.quantities import PositiveNumber


class Effort(FrozenModel):
    """Work that each change is, against one washer on the stud; only their order matters."""

    piece: PositiveNumber = 1.0
    """One piece of a stack, at one wheel."""
    rack: PositiveNumber = 4.0
    """Raising or lowering the rack, or what else the inner pivot sits in, by whatever it is."""
    ball_joint: PositiveNumber = 6.0
    """Another extension of the lower ball joint, at one wheel."""
    brackets: PositiveNumber = 6.0
    """Other heights of a beam axle's lateral-link brackets, other lift blocks or shackles."""


class Minutes(FrozenModel):
    """Minutes for each reading that may be taken next, the gauge or the tape still at hand."""

    sweep: PositiveNumber = 15.0
    """The whole sweep once more, as it was."""
    rod_turned: PositiveNumber = 2.0
    """The rod turned by two turns and the gauge read again."""
    sideways: PositiveNumber = 10.0
    """One dial at the height of the wheel's center, at the heights of the sweep."""
    camber: PositiveNumber = 10.0
    """Camber at the heights of the sweep."""
    steered: PositiveNumber = 10.0
    """Angles on turn plates at four rack travels."""
    turn_toe_out: PositiveNumber = 10.0
    """Plates under both wheels, at the same rack travels."""
    caster_sweep: PositiveNumber = 6.0
    """Camber with the wheel steered out and in."""
    point_again: PositiveNumber = 5.0
    """One coordinate of a point measured again, carefully."""
    length_again: PositiveNumber = 5.0
    """One length between two points measured again, or for the first time."""
    three_with_stack: PositiveNumber = 20.0
    """The next stack fitted, and three heights read with it."""
