"""Stacks that can really be built: from an adjuster's range and step, or from pieces on a shelf."""

from collections.abc import Iterable
from dataclasses import dataclass

from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from optimizer.models.hardware import Shelf, SolidSpacer, Stack
from optimizer.units import Units, length_text

# Heights are added as whole picometers: sums are exact, of inch sizes to the 2048th too.
PICOMETERS_PER_MM = 1_000_000_000
MOST_STACKS = 200_000
FINEST_MM: dict[Units, float] = {"mm": 0.1, "in": 0.127}  # of a spacer's height; 0.005 in

Pieces = tuple[int, ...]


@dataclass(frozen=True)
class BuildableStack:
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


def shelf_stacks(shelf: Shelf, limits: Stack | None, units: Units) -> list[BuildableStack]:
    """Every stack within the limits that a shelf can build, lowest first.

    `units` are those in which the heights of a solid spacer are told apart.
    """
    highest = None if limits is None else _picometers(limits.max)
    lowest = 0 if limits is None else _picometers(limits.min)
    groups = [
        [(_picometers(shim.thickness),) * used for used in range(1, shim.count + 1)]
        for shim in sorted(shelf.shims, key=lambda shim: -shim.thickness)
    ]
    if shelf.solid_spacer is not None:
        groups.insert(0, [(height,) for height in _solid_heights(shelf.solid_spacer, units)])
    built: dict[int, Pieces] = {0: ()}
    for group in groups:
        built = _grown(built, group, highest, shelf.most_pieces)
    return [
        _stack(pieces)
        for height, pieces in sorted(built.items())
        if height >= lowest and (highest is None or height <= highest)
    ]


def _grown(
    built: dict[int, Pieces], group: Iterable[Pieces], highest: int | None, most: int | None
) -> dict[int, Pieces]:
    """Stacks with none or one of `group` added to each; fewest pieces for each height."""
    grown = dict(built)
    for added in group:
        for height, pieces in built.items():
            taller, count = height + sum(added), len(pieces) + len(added)
            if (highest is not None and taller > highest) or (most is not None and count > most):
                continue
            if taller not in grown or len(grown[taller]) > count:
                grown[taller] = pieces + added
        if len(grown) > MOST_STACKS:
            raise PivotwrightError(
                f"the shelf builds more than {MOST_STACKS} different stacks; limit them with "
                "shelf.most_pieces or outer_pivot.stack = { min = …, max = … }"
            )
    return grown


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
