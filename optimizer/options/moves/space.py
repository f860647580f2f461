"""What a custom pivot may be: moves within a box, beside the choices that can be listed.

Where the box has height, the pivot made to measure takes the place of the stack; where it has none
(an offset seat), the stack goes on top of it.  The rack's spacers stand to the inner pivot's box
likewise.  A kit decides which stacks there are, and with its joint, stud and thread what fits.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings, linkage_change, mirror_of
from optimizer.models.case import Case
from optimizer.models.custom import Room
from optimizer.models.stacks import BuildableStack, buildable_stacks

BARE = BuildableStack(0.0, ())
Choice = NDArray[np.intp]


@dataclass(frozen=True)
class CustomSpace:
    """Listed choices x a box of moves.

    A choice is (4,): the kit; a step along its stacks, of as many steps for every kit as the kit
    with most stacks has; a place in `raises`; and one in `drops`.  `stacks` holds a list for each
    kit.  A move is (6,): x, y, z of the outer pivot and of the inner one, for a left wheel,
    between `low` and `high`; `drop_changes` says how far each of `drops` moves the linkage's own
    hardware. [mm]
    """

    stacks: list[list[BuildableStack]]
    raises: list[float]
    drops: list[float]
    drop_changes: dict[float, float]
    low: Array
    high: Array

    @staticmethod
    def of(cases: Sequence[Case]) -> "CustomSpace":
        """Take the room of a car, which must have a `custom_pivot` table; one case for each kit."""
        case = cases[0]
        assert case.custom_pivot is not None
        outer, inner = case.custom_pivot.outer, case.custom_pivot.inner
        spans = np.concatenate([_spans(outer, case), _spans(inner, case)])
        return CustomSpace(
            [[BARE] if outer.has_height else buildable_stacks(kit) for kit in cases],
            [0.0] if inner.has_height else list(case.rack.spacers),
            list(case.linkage_choices),
            {choice: linkage_change(case, choice) for choice in case.linkage_choices},
            spans[:, 0],
            spans[:, 1],
        )

    @cached_property
    def free(self) -> Rows:
        """Moves that have room, places in (6,)."""
        return np.flatnonzero(self.high > self.low)

    @property
    def sizes(self) -> tuple[int, int, int, int]:
        """How many kits, steps, rack raises and ball-joint drops there are to choose from."""
        steps = max(len(stacks) for stacks in self.stacks)
        return len(self.stacks), steps, len(self.raises), len(self.drops)

    def steps_about(self, kit: int, height: float) -> list[int]:
        """Steps of a kit's stacks just below and above a height, [mm], or the nearest one."""
        heights = [stack.height for stack in self.stacks[kit]]
        above = int(np.searchsorted(heights, height))
        places = {max(above - 1, 0), min(above, len(heights) - 1)}
        return [-(-place * self.sizes[1] // len(heights)) for place in sorted(places)]

    def stack(self, choice: Choice) -> BuildableStack:
        """Stack of a choice (4,)."""
        stacks = self.stacks[int(choice[0])]
        return stacks[int(choice[1]) * len(stacks) // self.sizes[1]]

    def settings(self, choices: Choice, moves: Array) -> Settings:
        """Make settings of choices (M, 4) and moves (M, 6)."""
        _, _, rack, drop = choices.T
        return Settings(
            np.array([self.stack(choice).height for choice in choices]),
            np.array(self.raises)[rack],
            np.array(self.drops)[drop],
            moves[:, :3],
            moves[:, 3:],
        )

    def parts(self, choice: Choice) -> int:
        """How many parts a choice (4,) asks for beside the pivot and its kit."""
        _, _, rack, drop = choice
        return len(self.stack(choice).pieces) + int(self.raises[rack] != 0.0) + int(drop != 0)


def _spans(room: Room, case: Case) -> Array:
    """Room as least and greatest moves of a left wheel, (3, 2). [mm]."""
    spans = np.array(room.spans()) * mirror_of(case)[:, None]
    return np.sort(spans, axis=1)
