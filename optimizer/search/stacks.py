"""Stacks that can really be built: from an adjuster's range and step, or from shims on a shelf."""

from dataclasses import dataclass

from optimizer.errors import PivotwrightError
from optimizer.models.case import Case

NANOMETERS_PER_MM = 1_000_000  # heights are added as whole nanometers, so sums are exact
MOST_STACKS = 200_000


@dataclass(frozen=True)
class BuildableStack:
    """A stack's height and the pieces that make it, thickest first. [mm]."""

    height: float
    pieces: tuple[float, ...]


def buildable_stacks(case: Case) -> list[BuildableStack]:
    """Every stack that the case's hardware can build, lowest first; the bare seat if none is named.

    Of the ways to build one height from the shelf, the one with the fewest pieces is kept.
    """
    limits = case.outer_pivot.stack
    if case.shelf is not None:
        shims = [(_nanometers(shim.thickness), shim.count) for shim in case.shelf.shims]
        highest = None if limits is None else _nanometers(limits.max)
        lowest = 0 if limits is None else _nanometers(limits.min)
        built = _shelf_stacks(shims, highest)
        return [_stack(pieces) for height, pieces in sorted(built.items()) if height >= lowest]
    if limits is None or limits.step is None:
        return [BuildableStack(0.0, ())]
    lowest, highest, step = (_nanometers(x) for x in (limits.min, limits.max, limits.step))
    return [_stack((height,) if height else ()) for height in range(lowest, highest + 1, step)]


def _shelf_stacks(shims: list[tuple[int, int]], highest: int | None) -> dict[int, tuple[int, ...]]:
    """Fewest pieces for each height, by adding one thickness of shim after another."""
    built: dict[int, tuple[int, ...]] = {0: ()}
    for thickness, count in sorted(shims, reverse=True):
        grown = dict(built)
        for height, pieces in built.items():
            for used in range(1, count + 1):
                taller = height + used * thickness
                if highest is not None and taller > highest:
                    break
                if taller not in grown or len(grown[taller]) > len(pieces) + used:
                    grown[taller] = pieces + (thickness,) * used
        if len(grown) > MOST_STACKS:
            raise PivotwrightError(
                f"the shelf builds more than {MOST_STACKS} different stacks; "
                "limit their height with outer_pivot.stack = { min = …, max = … }"
            )
        built = grown
    return built


def _nanometers(mm: float) -> int:
    return round(mm * NANOMETERS_PER_MM)


def _stack(pieces: tuple[int, ...]) -> BuildableStack:
    in_mm = tuple(piece / NANOMETERS_PER_MM for piece in pieces)
    return BuildableStack(sum(pieces) / NANOMETERS_PER_MM, in_mm)
