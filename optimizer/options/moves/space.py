"""What a custom pivot of one wheel may be: moves within a box, beside what can be listed.

Where the box has height, the pivot made to measure takes the place of the stack; where it has none
(an offset seat), the stack goes on top of it.  The rack's spacers stand to the inner pivot's box
likewise.  A kit decides which stacks there are, and with its joint, stud and thread what fits.
"""

from collections.abc import Sequence
from functools import cached_property
from itertools import product

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import mirror_of
from optimizer.car.settings import Rows, Settings
from optimizer.models.case import Case
from optimizer.models.custom import Room
from optimizer.models.hardware import LinkageChoice
from optimizer.models.stacks import BuildableStack, buildable_stacks
from optimizer.units import MM_PER_INCH, Units

BARE = BuildableStack(0.0, ())
Choice = NDArray[np.intp]
MADE_IN_STEPS: dict[Units, float] = {"mm": 0.01, "in": 0.0005 * MM_PER_INCH}
HARDWARE, STEP, RACK, LINKAGE = range(4)  # columns of a choice


class CustomSpace(Struct, frozen=True, dict=True):
    """Listed choices x a box of moves.

    A choice is (4,): the alternative of hardware; a step along its stacks, of as many steps for
    every alternative as the one with most stacks has; a place in `racks`,
    raise and move forward; and one in `linkages`.
    `stacks` and `linkages` hold a list for each alternative, the car as it is first in the first of
    `linkages`.  A move is (6,): x, y, z of the outer pivot and of the inner one, for a left wheel,
    between `low` and `high`, in steps of `step` on a drawing. [mm]
    """

    stacks: list[list[BuildableStack]]
    racks: list[tuple[float, float]]
    linkages: list[tuple[LinkageChoice, ...]]
    low: Array
    high: Array
    step: float

    @staticmethod
    def of(cases: Sequence[Case]) -> "CustomSpace":
        """Take the room of a car, which must have a `custom_pivot` table; a case an alternative."""
        case = cases[0]
        assert case.custom_pivot is not None
        outer, inner = case.custom_pivot.outer, case.custom_pivot.inner
        spans = np.concatenate([_spans(outer, case), _spans(inner, case)])
        return CustomSpace(
            [[BARE] if outer.has_height else buildable_stacks(one) for one in cases],
            list(product([0.0] if inner.has_height else case.rack.spacers, case.rack.fore_aft)),
            [one.linkage_choices for one in cases],
            spans[:, 0],
            spans[:, 1],
            MADE_IN_STEPS[case.units],
        )

    @cached_property
    def free(self) -> Rows:
        """Moves that have room, places in (6,)."""
        return np.flatnonzero(self.high > self.low)

    @property
    def frees_both(self) -> bool:
        """Whether both pivots may move; toe is then no longer nearly linear in the moves."""
        return bool((self.free < 3).any() and (self.free >= 3).any())

    @property
    def sizes(self) -> tuple[int, int, int, int]:
        """How many alternatives, steps, rack places and linkages there are to choose from."""
        steps = max(len(stacks) for stacks in self.stacks)
        return len(self.stacks), steps, len(self.racks), len(self.linkages[0])

    def steps_about(self, hardware: int, height: float) -> list[int]:
        """Steps of an alternative's stacks just below and above a height, [mm], or the nearest."""
        heights = [stack.height for stack in self.stacks[hardware]]
        above = int(np.searchsorted(heights, height))
        places = {max(above - 1, 0), min(above, len(heights) - 1)}
        return [-(-place * self.sizes[1] // len(heights)) for place in sorted(places)]

    def stack(self, choice: Choice) -> BuildableStack:
        """Stack of a choice (4,)."""
        stacks = self.stacks[int(choice[HARDWARE])]
        return stacks[int(choice[STEP]) * len(stacks) // self.sizes[1]]

    def settings(self, choices: Choice, moves: Array) -> Settings:
        """Make settings of choices (M, 4) and moves (M, 6)."""
        up, forward = np.array(self.racks)[choices[:, RACK]].T
        return Settings(
            np.array([self.stack(choice).height for choice in choices]),
            up,
            choices[:, LINKAGE],
            moves[:, :3],
            moves[:, 3:],
            forward,
        )

    def parts(self, choice: Choice) -> int:
        """How many parts a choice (4,) asks for at its wheel beside the pivot and its kit."""
        return len(self.stack(choice).pieces) + self.shared_parts(choice)

    def shared_parts(self, choice: Choice) -> int:
        """How many of them serve both wheels of an axle that steers."""
        moved = any(self.racks[int(choice[RACK])])
        return moved + (self.linkage(choice) != self.linkages[0][0])

    def linkage(self, choice: Choice) -> LinkageChoice:
        """Linkage of a choice (4,)."""
        return self.linkages[int(choice[HARDWARE])][int(choice[LINKAGE])]

    def as_made(self, moves: Array) -> Array:
        """Moves as a drawing would state them; they stay within the box. [mm]."""
        return np.clip(np.round(moves / self.step) * self.step, self.low, self.high)

    def change(self, choices: Choice, moves: Array) -> Array:
        """How far pivots, stack, rack and ball joint have moved, all added up, (M,). [mm].

        On an axle brackets, blocks and shackles stand in the ball joint's place.
        """
        settings, as_is = self.settings(choices, moves), self.linkages[0][0]
        linkages = np.array([self.linkage(choice).change_from(as_is) for choice in choices])
        listed = np.abs(settings.outer_drop) + np.abs(settings.rack_raise) + linkages
        listed += np.abs(settings.forward)
        total: Array = listed + np.abs(moves).sum(axis=1)
        return total


def _spans(room: Room, case: Case) -> Array:
    """Room as least and greatest moves of a left wheel, (3, 2). [mm]."""
    spans = np.array(room.spans()) * mirror_of(case)[:, None]
    return np.sort(spans, axis=1)
