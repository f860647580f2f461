"""Beam axle: one beam on four links carries a knuckle at each end."""

from dataclasses import dataclass

from geometry.linkages.axle import Axle
from geometry.linkages.conditions import Condition, LinkLengths
from geometry.linkages.link_set import side_by_side
from geometry.vectors import Array, norm


@dataclass(frozen=True, kw_only=True)
class BeamAxle(Axle):
    """An axle on links, as measured. [mm]

    Four links, one of them the lateral link, keep their `lengths` (..., 4) between `link_inner` in
    the chassis and `link_outer` in the beam, both (..., 4, 3): heave and roll stay free.  Lengths
    other than the measured distances stand for what was fitted afterwards.
    """

    link_inner: Array
    link_outer: Array
    lengths: Array

    @staticmethod
    def of(roll_about: Array | None = None, **points: Array) -> "BeamAxle":
        """Make an axle from named points, each (..., 3). [mm]

        They are ``link_1_inner`` in the chassis and ``link_1_outer`` in the beam, and so on to 4;
        ``kingpin_lower``, ``kingpin_upper``, ``cross_rod_end`` and ``wheel_center``.
        """
        links = {
            f"link_{end}": side_by_side(*(points.pop(f"link_{k}_{end}") for k in range(1, 5)))
            for end in ("inner", "outer")
        }
        lengths = norm(links["link_outer"] - links["link_inner"])
        return BeamAxle(**points, **links, lengths=lengths, roll_about=roll_about)

    def holding(self) -> tuple[Condition, ...]:
        """See `Axle.holding`."""
        arms = self.link_outer - self.center[..., None, :]
        return (LinkLengths(self.link_inner, arms, self.lengths),)
