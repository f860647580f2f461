"""The shims whose purchase would help most: the own shelf with one shim more for each wheel.

One more shim makes every stack of a shelf possible with and without it.  All stacks that any one
purchase would make possible are searched at once, with the same proof as the shelf itself; the best
of them names the shim.
"""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from optimizer.models.case import Case
from optimizer.models.shelf import Shelf, Shim
from optimizer.models.stacks import BuildableStack, buildable_stacks, shelf_stacks
from optimizer.options.dimensions import Option, OptionSpace, space_with
from optimizer.options.hardware import Hardware
from optimizer.options.places import best_of, simplest_of
from optimizer.options.proof import RESOLUTION, finished
from optimizer.units import MM_PER_INCH, Units

# Thicknesses in which shims and washers are sold; common practice, no source. [mm]
SOLD: dict[Units, tuple[float, ...]] = {
    "mm": tuple(0.5 * halves for halves in range(1, 21)),
    "in": tuple(MM_PER_INCH * parts / 32.0 for parts in range(1, 13)),
}
MOST_SETTINGS = 300_000  # a shelf that builds more than this lacks no shim

Purchases = dict[float, tuple[BuildableStack, float]]  # by height: the stack, and the shim bought


class Purchase(Struct, frozen=True):
    """The best option with one shim more for each wheel.

    `shims` are what each wheel lacks, None where it lacks none; `peak` is what is left. [mm, rad]
    """

    space: OptionSpace
    option: Option
    shims: tuple[float | None, ...]
    peak: float


def best_purchase(own: Sequence[Hardware], best_peak: float) -> Purchase | None:
    """Find the shims that would bring the worse wheel's peak down most, as far as a gauge tells.

    Of options so near the lowest the simplest names the shims.

    Parameters
    ----------
    own : sequence of Hardware
        The car's own, with each extension of the ball joint that has an alignment of its own.
    best_peak : float
        Smallest peak that fits now, infinite where nothing does. [rad]

    Returns
    -------
    Purchase or None
        None where a wheel has no shelf, or where no shim would help by more than a gauge tells.
    """
    cases = own[0].cases
    if any(case.shelf is None or _builds_enough(case) for case in cases):
        return None
    bought = [_bought(case) for case in cases]
    stacks = tuple(
        sorted([*buildable_stacks(case), *(stack for stack, _ in of_wheel.values())], key=_height)
        for case, of_wheel in zip(cases, bought, strict=True)
    )
    space = space_with([replace(one, stacks=stacks) for one in own])
    then = finished(best_of(space, space.lots))
    if not then.fits or then.peak > best_peak - RESOLUTION:
        return None
    limit = min(then.peak + RESOLUTION, best_peak - RESOLUTION)
    option = finished(simplest_of(space, space.lots, limit))
    heights = (
        float(wheel.settings.outer_drop[row])
        for wheel, row in zip(space.wheels, option.rows, strict=True)
    )
    shims = tuple(
        of_wheel[height][1] if height in of_wheel else None
        for of_wheel, height in zip(bought, heights, strict=True)
    )
    return Purchase(space, option, shims, space.peak(option))


def _builds_enough(case: Case) -> bool:
    rest = len(case.rack.places) * len(case.linkage_choices)
    return len(buildable_stacks(case)) * rest * len(SOLD[case.units]) > MOST_SETTINGS


def _height(stack: BuildableStack) -> float:
    return stack.height


def _bought(case: Case) -> Purchases:
    """Stacks by height that one more shim makes possible, each with the shim; fewest pieces."""
    found = Purchases()
    if case.shelf is None:
        return found
    now = {stack.height for stack in buildable_stacks(case)}
    for thickness in SOLD[case.units]:
        for stack in shelf_stacks(_with(case.shelf, thickness), case.outer_pivot.stack, case.units):
            known = found.get(stack.height)
            if stack.height not in now and (
                known is None or len(known[0].pieces) > len(stack.pieces)
            ):
                found[stack.height] = stack, thickness
    return found


def _with(shelf: Shelf, thickness: float) -> Shelf:
    more = Shim(thickness=thickness, count=1)
    return shelf.model_copy(update={"shims": (*shelf.shims, more)})
