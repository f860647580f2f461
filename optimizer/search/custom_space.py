"""What a custom pivot may be: moves within a box, beside the choices that can be listed.

Where the box has height, the pivot made to measure takes the place of the stack; where it has none
(an offset seat), the stack goes on top of it.  The rack's spacers stand to the inner pivot's box
likewise.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.adjust import Rows, Settings, mirror_of
from optimizer.models.case import Case
from optimizer.models.custom import Room
from optimizer.search.stacks import BuildableStack, buildable_stacks

BARE = BuildableStack(0.0, ())
Choice = NDArray[np.intp]


@dataclass(frozen=True)
class CustomSpace:
    """Listed choices x a box of moves.

    A choice is a place in each of `stacks`, `raises` and `drops`; a move is (6,): x, y, z of the
    outer pivot and of the inner one, for a left wheel, between `low` and `high`. [mm]
    """

    stacks: list[BuildableStack]
    raises: list[float]
    drops: list[float]
    low: Array
    high: Array

    @staticmethod
    def of(case: Case) -> "CustomSpace":
        """Take the room that a case leaves; it must have a `custom_pivot` table."""
        assert case.custom_pivot is not None
        outer, inner = case.custom_pivot.outer, case.custom_pivot.inner
        spans = np.concatenate([_spans(outer, case), _spans(inner, case)])
        return CustomSpace(
            [BARE] if outer.has_height else buildable_stacks(case),
            [0.0] if inner.has_height else list(case.rack.spacers),
            list(case.linkage_choices),
            spans[:, 0],
            spans[:, 1],
        )

    @cached_property
    def free(self) -> Rows:
        """Moves that have room, places in (6,)."""
        return np.flatnonzero(self.high > self.low)

    @property
    def sizes(self) -> tuple[int, int, int]:
        """How many stacks, rack raises and ball-joint drops there are to choose from."""
        return len(self.stacks), len(self.raises), len(self.drops)

    def spread_choices(self, most: int) -> Choice:
        """Every listed choice, or where they are more than `most`, stacks evenly spread, (C, 3)."""
        stacks, raises, drops = self.sizes
        shown = np.linspace(0, stacks - 1, min(stacks, max(1, most // (raises * drops))))
        grid = np.meshgrid(shown.astype(np.intp), np.arange(raises), np.arange(drops))
        return np.stack([g.ravel() for g in grid], axis=-1)

    def settings(self, choices: Choice, moves: Array) -> Settings:
        """Make settings of choices (M, 3) and moves (M, 6)."""
        heights = np.array([stack.height for stack in self.stacks])
        stack, rack, drop = choices.T
        return Settings(
            heights[stack],
            np.array(self.raises)[rack],
            np.array(self.drops)[drop],
            moves[:, :3],
            moves[:, 3:],
        )

    def parts(self, choice: Choice) -> int:
        """How many parts a choice (3,) asks for beside the pivot itself."""
        stack, rack, drop = choice
        return len(self.stacks[stack].pieces) + int(self.raises[rack] != 0.0) + int(drop != 0)


def _spans(room: Room, case: Case) -> Array:
    """Room as least and greatest moves of a left wheel, (3, 2). [mm]."""
    spans = np.array(room.spans()) * mirror_of(case)[:, None]
    return np.sort(spans, axis=1)
