"""The settings of a case: every stack x rack spacer x ball-joint drop, and leaving it as it is."""

from dataclasses import dataclass, replace

import numpy as np

from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from optimizer.models.stacks import BuildableStack, buildable_stacks

MOST_SETTINGS = 5_000_000


@dataclass(frozen=True)
class Shared:
    """What both wheels of a car have in common: rack raise and ball-joint drop. [mm]."""

    rack_raise: float
    ball_joint_drop: float


@dataclass(frozen=True)
class Space:
    """All settings; row ``(stack * len(raises) + raise) * len(drops) + drop`` is one of them.

    `left` is the row that leaves the car as it is; it is appended last where the hardware cannot
    build it (an adjuster whose range starts above 0, say).  `shared` is what the other wheel has
    settled, None where this wheel is alone.  With `kit_fitted` the kit whose settings these are is
    on the car, so leaving the car as it is is none of them.
    """

    stacks: list[BuildableStack]
    raises: list[float]
    drops: list[float]
    settings: Settings
    left: int
    shared: Shared | None = None
    kit_fitted: bool = False

    @property
    def left_competes(self) -> bool:
        """Whether leaving it is a choice: not with a kit on, or where the other wheel moves it."""
        as_is = self.settings.rows(np.array([self.left]))
        its = Shared(float(as_is.rack_raise[0]), float(as_is.ball_joint_drop[0]))
        return not self.kit_fitted and self.shared in (None, its)

    @property
    def built(self) -> int:
        """How many rows, the first ones, are stacks, spacers and drops that there are."""
        return len(self.stacks) * len(self.raises) * len(self.drops)

    @property
    def left_is_built(self) -> bool:
        """Whether leaving it is one of those rows, not a row of its own."""
        return self.left < self.built

    def row(self, stack: int, rack_raise: int, drop: int) -> int:
        """Row of the setting with these places in `stacks`, `raises` and `drops`."""
        return (stack * len(self.raises) + rack_raise) * len(self.drops) + drop

    def places(self, row: int) -> tuple[int, int, int]:
        """Places in `stacks`, `raises` and `drops` of a row of the grid."""
        rest, drop = divmod(row, len(self.drops))
        return (*divmod(rest, len(self.raises)), drop)

    def pieces(self, row: int) -> tuple[float, ...]:
        """Pieces of a row's stack, thickest first. [mm]."""
        return () if row == self.left else self.stacks[self.places(row)[0]].pieces

    def effort(self) -> Array:
        """What each row asks of the workshop, least first, (4, M) keys for a lexical sort.

        In order of weight: anything at all; number of parts; height of the stack; rack moved.
        """
        settings = self.settings
        counts = np.array([len(stack.pieces) for stack in self.stacks])
        pieces = np.zeros(len(settings))
        pieces[: self.built] = np.repeat(counts, len(self.raises) * len(self.drops))
        moved = settings.rack_raise != 0.0
        parts = pieces + moved + (settings.ball_joint_drop != self.drops[0])
        changed = np.arange(len(settings)) != self.left
        return np.stack([changed, parts, np.abs(settings.outer_drop), np.abs(settings.rack_raise)])


def space_of(
    case: Case, stacks: list[BuildableStack] | None = None, shared: Shared | None = None
) -> Space:
    """List the settings that a case's hardware allows, or would with other stacks than its own.

    With `shared`, only those with what the other wheel of the car has settled.
    """
    stacks = buildable_stacks(case) if stacks is None else stacks
    raises, drops = list(case.rack.spacers), list(case.linkage_choices)
    if shared is not None:
        raises, drops = [shared.rack_raise], [shared.ball_joint_drop]
    count = len(stacks) * len(raises) * len(drops)
    if count > MOST_SETTINGS:
        raise PivotwrightError(
            f"the hardware allows {count:,} settings, more than {MOST_SETTINGS:,}; "
            "use a coarser outer_pivot.stack step or fewer rack.spacers"
        )
    heights = [stack.height for stack in stacks]
    grid = [g.ravel() for g in np.meshgrid(heights, raises, drops, indexing="ij")]
    as_is = (0.0, 0.0, case.linkage_choices[0])
    same = np.flatnonzero(np.all([g == a for g, a in zip(grid, as_is, strict=True)], axis=0))
    if not same.size:
        grid = [np.append(g, a) for g, a in zip(grid, as_is, strict=True)]
    left = int(same[0]) if same.size else count
    return Space(stacks, raises, drops, Settings(*grid), left, shared)


def built_space(space: Space) -> Space:
    """Leave out the car as it is where the hardware can't build it."""
    return replace(space, settings=space.settings.rows(np.arange(space.built)))


def rack_heights(case: Case) -> list[Shared | None]:
    """Everything that both wheels can have in common, the rack and ball joint as they are too.

    None alone where each wheel has its inner bracket to itself, as on a rear axle.
    """
    if not case.words.steers:
        return [None]
    drops = case.linkage_choices
    listed: list[Shared | None] = [Shared(up, down) for up in case.rack.spacers for down in drops]
    as_is = Shared(0.0, drops[0])
    return listed if as_is in listed else [*listed, as_is]


def space_at(case: Case, shared: Shared | None) -> Space:
    """List one wheel's settings with what both share; leaving it alone where no spacer is that."""
    listed = shared is None or shared.rack_raise in case.rack.spacers
    return space_of(case, None if listed else [BuildableStack(0.0, ())], shared)
