"""The settings of a case: every stack x place of the rack x linkage, and leaving it as it is."""

import math

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.settings import Rows, Settings
from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from optimizer.models.effort import Effort
from optimizer.models.hardware import LinkageChoice
from optimizer.models.points import AxlePoints
from optimizer.models.stacks import BuildableStack, buildable_stacks

USUAL_WORK = Effort()
MOST_SETTINGS = 1_000_000  # about 200 MB


class Shared(Struct, frozen=True):
    """What both wheels of a car share: place of the rack [mm] and choice of the linkage."""

    rack_raise: float
    linkage: int
    rack_fore_aft: float = 0.0


class Space(Struct, frozen=True):
    """All settings of one wheel with one alternative of hardware.

    They are a grid of `sizes`, the last axis fastest.  `left` is the row that leaves the car as it
    is; it is appended last where the hardware cannot build it (an adjuster whose range starts above
    0, say).  Where it may not be left (a kit is on the car, the other wheel has moved the rack), a
    row that is appended is no choice.
    """

    stacks: list[BuildableStack]
    raises: list[float]
    forwards: list[float]
    linkages: list[int]
    settings: Settings
    left: int
    may_leave: bool = True
    extended: bool = False
    work: Effort = USUAL_WORK
    on_axle: bool = False
    choices: tuple[LinkageChoice, ...] = (LinkageChoice(),)

    @property
    def built(self) -> int:
        """How many rows, the first ones, are stacks, spacers and linkages that there are."""
        return math.prod(self.sizes)

    @property
    def sizes(self) -> tuple[int, ...]:
        """How many stacks, rack raises, moves of the rack forward and linkages there are."""
        return len(self.stacks), len(self.raises), len(self.forwards), len(self.linkages)

    @property
    def allowed(self) -> Rows:
        """Rows that are a choice: nothing stacked is one of a kit, too, where it can build that."""
        return np.arange(len(self.settings) if self.may_leave else self.built)

    def row(self, *places: int) -> int:
        """Row of the setting with these places, one along each axis of the grid."""
        return int(np.ravel_multi_index(places, self.sizes))

    def places(self, row: int) -> tuple[int, ...]:
        """Places of a row along the axes of the grid."""
        return tuple(int(place) for place in np.unravel_index(row, self.sizes))

    def pieces(self, row: int) -> tuple[float, ...]:
        """Pieces of a row's stack, thickest first. [mm]."""
        return () if row == self.left else self.stacks[self.places(row)[0]].pieces

    def effort(self) -> Array:
        """What each row asks of the workshop, least first, (4, M) keys for a lexical sort.

        In order of weight: anything at all; work, see `Effort`; height of the stack; rack moved.
        """
        settings = self.settings
        counts = np.array([len(stack.pieces) for stack in self.stacks])
        pieces = np.zeros(len(settings))
        pieces[: self.built] = np.repeat(counts, math.prod(self.sizes[1:]))
        rack = np.abs(settings.rack_raise) + np.abs(settings.forward)
        now = self.choices[0]
        tilts = np.array([one.rack_tilt != now.rack_tilt for one in self.choices])
        others = np.array([replace(one, rack_tilt=now.rack_tilt) != now for one in self.choices])
        moved = (rack > 0.0) | tilts[settings.linkage]
        other = others[settings.linkage] | self.extended
        of_other = self.work.brackets if self.on_axle else self.work.ball_joint
        work = self.work.piece * pieces + self.work.rack * moved + of_other * other
        changed = (np.arange(len(settings)) != self.left) | self.extended
        return np.stack([changed, work, np.abs(settings.outer_drop), rack])


def space_of(
    case: Case,
    stacks: list[BuildableStack] | None = None,
    shared: Shared | None = None,
    *,
    may_leave: bool = True,
    extended: bool = False,
) -> Space:
    """List the settings that a case's hardware allows, or would with other stacks than its own.

    With `shared`, only those with what the other wheel of the car has settled.
    """
    stacks = buildable_stacks(case) if stacks is None else stacks
    raises, forwards = list(case.rack.spacers), list(case.rack.fore_aft)
    linkages = list(range(len(case.linkage_choices)))
    if shared is not None:
        raises, forwards, linkages = [shared.rack_raise], [shared.rack_fore_aft], [shared.linkage]
        may_leave = may_leave and shared == Shared(0.0, 0)
    count = len(stacks) * len(raises) * len(forwards) * len(linkages)
    raise_if_too_many(count)
    heights = [stack.height for stack in stacks]
    grid = [g.ravel() for g in np.meshgrid(heights, raises, forwards, linkages, indexing="ij")]
    as_is = (0.0, 0.0, 0.0, 0)
    same = np.flatnonzero(np.all([g == a for g, a in zip(grid, as_is, strict=True)], axis=0))
    if not same.size:
        grid = [np.append(g, a) for g, a in zip(grid, as_is, strict=True)]
    left = int(same[0]) if same.size else count
    settings = Settings(grid[0], grid[1], grid[3].astype(np.intp), rack_fore_aft=grid[2])
    return Space(
        stacks,
        raises,
        forwards,
        linkages,
        settings,
        left,
        may_leave,
        extended,
        work=case.effort,
        on_axle=isinstance(case.points, AxlePoints),
        choices=case.linkage_choices,
    )


def raise_if_too_many(settings: int) -> None:
    """Stop where there are more settings than can be kept in mind."""
    if settings > MOST_SETTINGS:
        raise PivotwrightError(
            f"the hardware allows {settings:,} settings, more than {MOST_SETTINGS:,}; "
            "use a coarser outer_pivot.stack step or fewer rack.spacers and rack.fore_aft"
        )


def left_alone() -> Space:
    """List nothing but leaving the wheel as it is."""
    return Space([BuildableStack(0.0, ())], [0.0], [0.0], [0], Settings.single(), left=0)
