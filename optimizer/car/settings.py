"""What may be fitted to a wheel, a batch of candidates at a time."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array

Rows = NDArray[np.intp]


class Settings(Struct, frozen=True):
    """What may be fitted, one row a candidate, each (M,). [mm].

    `outer_drop` moves the outer pivot along the stud axis from the standard seat, `rack_raise`
    lifts the inner pivot, `rack_fore_aft` moves it forward, `linkage` is a place in
    `Case.linkage_choices`.  A custom pivot has moved on top of that by `outer_move` or `inner_move`
    (M, 3), for a left wheel.
    """

    outer_drop: Array
    rack_raise: Array
    linkage: Rows
    outer_move: Array | None = None
    inner_move: Array | None = None
    rack_fore_aft: Array | float = 0.0

    def __len__(self) -> int:
        """Count the candidates."""
        return len(self.outer_drop)

    def rows(self, which: Rows) -> "Settings":
        """Pick some of the candidates."""
        return Settings(
            self.outer_drop[which],
            self.rack_raise[which],
            self.linkage[which],
            None if self.outer_move is None else self.outer_move[which],
            None if self.inner_move is None else self.inner_move[which],
            self.forward[which],
        )

    @property
    def forward(self) -> Array:
        """How far the inner pivot is moved forward, (M,). [mm]."""
        return np.broadcast_to(self.rack_fore_aft, self.rack_raise.shape)

    def codes(self) -> Rows:
        """Numbers (M,) that are the same where candidates without a custom pivot are the same."""
        code = np.zeros(len(self), dtype=np.intp)
        for column in (self.linkage, self.rack_raise, self.forward, self.outer_drop):
            values, place = np.unique(column, return_inverse=True)
            code = code * values.size + place
        return code

    @staticmethod
    def single(
        outer_drop: float = 0.0,
        rack_raise: float = 0.0,
        linkage: int = 0,
        rack_fore_aft: float = 0.0,
    ) -> "Settings":
        """Make a batch of one; the car as it is where nothing is named."""
        drop, up, forward = (np.array([x]) for x in (outer_drop, rack_raise, rack_fore_aft))
        return Settings(drop, up, np.array([linkage]), rack_fore_aft=forward)


def joined_settings(parts: Sequence[Settings]) -> Settings:
    """Put settings without a custom pivot one after another."""
    if len(parts) == 1:
        return parts[0]
    return Settings(
        np.concatenate([part.outer_drop for part in parts]),
        np.concatenate([part.rack_raise for part in parts]),
        np.concatenate([part.linkage for part in parts]),
        rack_fore_aft=np.concatenate([part.forward for part in parts]),
    )
