"""What fitting something asks of the workshop, in washers on the stud; common practice."""

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
