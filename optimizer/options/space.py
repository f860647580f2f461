"""The settings of a case: every stack x rack spacer x ball-joint drop, and leaving it as it is."""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings
from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from optimizer.models.effort import Effort
from optimizer.models.stacks import BuildableStack, buildable_stacks

USUAL_WORK = Effort()
MOST_SETTINGS = 5_000_000


@dataclass(frozen=True)
class Shared:
    """What both wheels of a car have in common: rack raise [mm] and choice of the linkage."""

    rack_raise: float
    linkage: int


@dataclass(frozen=True)
class Space:
    """All settings of one wheel with one alternative of hardware.

    Row ``(stack * len(raises) + raise) * len(linkages) + linkage`` is one of them.  `left` is the
    row that leaves the car as it is; it is appended last where the hardware cannot build it (an
    adjuster whose range starts above 0, say).  Where it may not be left (a kit is on the car, the
    other wheel has moved the rack), that row is no choice.
    """

    stacks: list[BuildableStack]
    raises: list[float]
    linkages: list[int]
    settings: Settings
    left: int
    may_leave: bool = True
    extended: bool = False
    work: Effort = USUAL_WORK
    on_axle: bool = False

    @property
    def built(self) -> int:
        """How many rows, the first ones, are stacks, spacers and linkages that there are."""
        return len(self.stacks) * len(self.raises) * len(self.linkages)

    @property
    def left_is_built(self) -> bool:
        """Whether leaving it is one of those rows, not a row of its own."""
        return self.left < self.built

    @property
    def allowed(self) -> Rows:
        """Rows that are a choice for a wheel alone."""
        rows = np.arange(len(self.settings))
        if self.extended:  # no stack beside the extension is a choice like any other
            return rows[: self.built]
        return rows if self.may_leave else rows[rows != self.left]

    def row(self, stack: int, rack_raise: int, linkage: int) -> int:
        """Row of the setting with these places in `stacks`, `raises` and `linkages`."""
        return (stack * len(self.raises) + rack_raise) * len(self.linkages) + linkage

    def places(self, row: int) -> tuple[int, int, int]:
        """Places in `stacks`, `raises` and `linkages` of a row of the grid."""
        rest, linkage = divmod(row, len(self.linkages))
        return (*divmod(rest, len(self.raises)), linkage)

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
        pieces[: self.built] = np.repeat(counts, len(self.raises) * len(self.linkages))
        moved = settings.rack_raise != 0.0
        other = (settings.linkage != 0) | self.extended
        of_other = self.work.brackets if self.on_axle else self.work.ball_joint
        work = self.work.piece * pieces + self.work.rack * moved + of_other * other
        changed = (np.arange(len(settings)) != self.left) | self.extended
        return np.stack([changed, work, np.abs(settings.outer_drop), np.abs(settings.rack_raise)])


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
    raises, linkages = list(case.rack.spacers), list(range(len(case.linkage_choices)))
    if shared is not None:
        raises, linkages = [shared.rack_raise], [shared.linkage]
        may_leave = may_leave and shared == Shared(0.0, 0)
    count = len(stacks) * len(raises) * len(linkages)
    if count > MOST_SETTINGS:
        raise PivotwrightError(
            f"the hardware allows {count:,} settings, more than {MOST_SETTINGS:,}; "
            "use a coarser outer_pivot.stack step or fewer rack.spacers"
        )
    heights = [stack.height for stack in stacks]
    grid = [g.ravel() for g in np.meshgrid(heights, raises, linkages, indexing="ij")]
    as_is = (0.0, 0.0, 0)
    same = np.flatnonzero(np.all([g == a for g, a in zip(grid, as_is, strict=True)], axis=0))
    if not same.size:
        grid = [np.append(g, a) for g, a in zip(grid, as_is, strict=True)]
    left = int(same[0]) if same.size else count
    settings = Settings(grid[0], grid[1], grid[2].astype(np.intp))
    on_axle = case.layout == "beam-axle"
    return Space(
        stacks, raises, linkages, settings, left, may_leave, extended, case.effort, on_axle
    )


def left_alone() -> Space:
    """List nothing but leaving the wheel as it is."""
    return Space([BuildableStack(0.0, ())], [0.0], [0], Settings.single(), left=0)
