"""Stacks that can really be built: from an adjuster's range and step, or from pieces on a shelf."""

from collections import deque

from msgspec import Struct

from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from optimizer.models.shelf import Shelf, Shim, SolidSpacer, Stack
from optimizer.units import Units, length_text

# Heights are added as whole picometers: sums are exact, of inch sizes to the 2048th too.
PICOMETERS_PER_MM = 1_000_000_000
MOST_STACKS = 200_000
LEAST_REACH_MM, MOST_REACH_MM = 2.0, 75.0  # of an adjuster; common practice, no source
SAME_HEIGHT_MM = 0.01  # an inch size rounded by hand is still that size
MOST_PIECES_LISTED = 5_000_000
FINEST_MM: dict[Units, float] = {"mm": 0.1, "in": 0.127}  # of a spacer's height; 0.005 in

Pieces = tuple[int, ...]


class BuildableStack(Struct, frozen=True):
    """A stack's height and the pieces that make it, thickest first. [mm]."""

    height: float
    pieces: tuple[float, ...]


def buildable_stacks(case: Case) -> list[BuildableStack]:
    """Every stack that the case's hardware can build, lowest first; the bare seat if none is named.

    Of the ways to build one height from the shelf, the one with the fewest pieces is kept.

    Raises
    ------
    PivotwrightError
        The shelf builds no stack within the limits, or too many to list.
    """
    limits = case.outer_pivot.stack
    if case.shelf is not None:
        stacks = shelf_stacks(case.shelf, limits, case.units)
        if not stacks:
            raise PivotwrightError(_nothing_within(limits, case.units))
        return stacks
    if limits is None or limits.step is None:
        return [BuildableStack(0.0, ())]
    lowest, highest = _picometers(limits.min), _picometers(limits.max)
    step = max(1, _picometers(limits.step))
    return [_stack((height,) if height else ()) for height in range(lowest, highest + 1, step)]


def stack_of_height(case: Case, height_mm: float) -> BuildableStack | None:
    """The stack of a height that the case's hardware can build; None if it builds none."""
    same = (one for one in buildable_stacks(case) if abs(one.height - height_mm) < SAME_HEIGHT_MM)
    return next(same, None)


def unlikely_reach(lowest: float, tallest: float) -> bool:
    """Whether stacks so low and so tall are no adjuster's, but mostly in another unit. [mm]."""
    reach = max(abs(lowest), abs(tallest))
    return reach > 0.0 and not LEAST_REACH_MM <= reach <= MOST_REACH_MM


def shelf_stacks(shelf: Shelf, limits: Stack | None, units: Units) -> list[BuildableStack]:
    """Every stack within the limits that a shelf can build, lowest first.

    `units` are those in which the heights of a solid spacer are told apart.
    """
    highest = None if limits is None else _picometers(limits.max)
    lowest = 0 if limits is None else _picometers(limits.min)
    built: dict[int, _Built] = {0: _Built(0)}
    if shelf.solid_spacer is not None:
        for height in _solid_heights(shelf.solid_spacer, units):
            if highest is None or height <= highest:
                built[height] = _Built(1, height, 1, built[0])
    for shim in sorted(shelf.shims, key=lambda shim: -shim.thickness):
        built = _grown(built, shim, highest, shelf.most_pieces)
    within = [
        (height, stack)
        for height, stack in sorted(built.items())
        if height >= lowest and (highest is None or height <= highest)
    ]
    if sum(stack.count for _, stack in within) > MOST_PIECES_LISTED:
        raise PivotwrightError(_too_many(f"stacks of more than {MOST_PIECES_LISTED:,} pieces"))
    return [_stack(stack.pieces) for _, stack in within]


class _Built:
    """A stack while it is built: `count` pieces, the last `times` of one `size`. [pm]."""

    __slots__ = ("before", "count", "size", "times")

    def __init__(
        self, count: int, size: int = 0, times: int = 0, before: "_Built | None" = None
    ) -> None:
        self.count, self.size, self.times, self.before = count, size, times, before

    @property
    def pieces(self) -> Pieces:
        """Every piece, in the order in which they were added."""
        parts, stack = [], self
        while stack.before is not None:
            parts.append((stack.size,) * stack.times)
            stack = stack.before
        return tuple(piece for part in reversed(parts) for piece in part)


def _grown(
    built: dict[int, _Built], shim: Shim, highest: int | None, most: int | None
) -> dict[int, _Built]:
    """Stacks with none or more of a shim added to each; fewest pieces for each height.

    Heights that differ by whole shims are walked together from the lowest up.  Of the stacks below
    from which the shims at hand reach a height, the best is at the front of a queue, so the work
    grows with how many stacks there are, not with how many shims.
    """
    size = _picometers(shim.thickness)
    chains: dict[int, list[int]] = {}
    for height in sorted(built):
        chains.setdefault(height % size, []).append(height // size)
    grown: dict[int, _Built] = {}
    for rest, steps in chains.items():
        top = steps[-1] + shim.count
        if highest is not None:
            top = min(top, (highest - rest) // size)
        queue: deque[tuple[int, int, _Built]] = deque()
        coming = iter([*steps, top + 1])
        nearest = next(coming)
        step = nearest
        while step <= top:
            if step == nearest:
                stack = built[rest + step * size]
                while queue and queue[-1][0] >= stack.count - step:
                    queue.pop()
                queue.append((stack.count - step, step, stack))
                nearest = next(coming)
            while queue and queue[0][1] < step - shim.count:
                queue.popleft()
            if not queue:
                step = nearest
                continue
            less, start, stack = queue[0]
            if most is None or less + step <= most:
                times = step - start
                new = stack if not times else _Built(less + step, size, times, stack)
                grown[rest + step * size] = new
                if len(grown) > MOST_STACKS:
                    raise PivotwrightError(_too_many(f"more than {MOST_STACKS} different stacks"))
            step += 1
    return grown


def _too_many(what: str) -> str:
    return (
        f"the shelf builds {what}; limit them with shelf.most_pieces or "
        "outer_pivot.stack = { min = …, max = … }"
    )


def _solid_heights(spacer: SolidSpacer, units: Units) -> list[int]:
    """Heights to which a solid spacer is made, both ends of its range among them. [pm]."""
    step = FINEST_MM[units] if spacer.step is None else spacer.step
    lowest, highest = _picometers(spacer.min), _picometers(spacer.max)
    return sorted({*range(lowest, highest, max(1, _picometers(step))), highest})


def _nothing_within(limits: Stack | None, units: Units) -> str:
    if limits is None:
        return "the shelf builds nothing"
    low, high = length_text(limits.min, units), length_text(limits.max, units)
    return (
        f"outer_pivot.stack allows {low} to {high}, but [shelf] builds no stack of such a height; "
        "widen the limits or list more pieces"
    )


def _picometers(mm: float) -> int:
    return round(mm * PICOMETERS_PER_MM)


def _stack(pieces: Pieces) -> BuildableStack:
    in_mm = tuple(piece / PICOMETERS_PER_MM for piece in sorted(pieces, reverse=True))
    return BuildableStack(sum(pieces) / PICOMETERS_PER_MM, in_mm)
