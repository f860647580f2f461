"""The one shim whose purchase would help most.

One more shim makes every stack of the shelf possible with and without it.  All stacks that any one
purchase would make possible are searched at once, with the same proof as the shelf itself; the best
of them names the shim.
"""

import numpy as np

from optimizer.car.adjust import fitted_to_linkage
from optimizer.car.evaluate import Evaluator
from optimizer.models.hardware import Shelf, Shim
from optimizer.models.result import NextShim
from optimizer.models.stacks import BuildableStack, buildable_stacks, shelf_stacks
from optimizer.options.candidates import Candidates
from optimizer.options.proof import RESOLUTION, prove, simplest_fits
from optimizer.options.space import Shared, space_of
from optimizer.units import MM_PER_INCH, Units

# Thicknesses in which shims and washers are sold; common practice, no source. [mm]
SOLD: dict[Units, tuple[float, ...]] = {
    "mm": tuple(0.5 * halves for halves in range(1, 21)),
    "in": tuple(MM_PER_INCH * parts / 32.0 for parts in range(1, 13)),
}
MOST_SETTINGS = 300_000  # a shelf that builds more than this lacks no shim

Bought = dict[float, tuple[BuildableStack, float]]


def next_shim(
    evaluator: Evaluator, best_peak: float, shared: Shared | None = None
) -> NextShim | None:
    """Find the one shim that would bring the peak down most, to within what a gauge tells.

    Of settings so near the lowest the simplest names the shim.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    best_peak : float
        Smallest peak that fits now, infinite where nothing does. [rad]
    shared : Shared, optional
        What the other wheel of the car has settled.

    Returns
    -------
    NextShim or None
        None where there is no shelf, where no shim would help by more than a gauge tells, or where
        what is settled is the rack as it is and the hardware moves it.
    """
    case = evaluator.case
    if case.shelf is None:
        return None
    if shared is not None and shared.rack_raise not in case.rack.spacers:
        return None
    now = buildable_stacks(case)
    rest = len(case.rack.spacers) * len(case.linkage_choices)
    if len(now) * rest * len(SOLD[case.units]) > MOST_SETTINGS:
        return None
    bought = _bought(evaluator, {stack.height for stack in now})
    stacks = sorted([*now, *(stack for stack, _ in bought.values())], key=lambda one: one.height)
    space = space_of(case, stacks, shared)
    candidates = Candidates(evaluator, space)
    then = prove(candidates, wanted=1).best_peak
    if not np.isfinite(then):
        return None
    worth_buying = min(then + RESOLUTION, best_peak - RESOLUTION)
    rows = np.flatnonzero(candidates.peak <= worth_buying)
    found = simplest_fits(candidates, rows[rows != space.left], 1)
    if not found.size:
        return None
    row = int(found[0])
    stack, peak = stacks[space.places(row)[0]], float(candidates.peak[row])
    return NextShim(
        thickness_mm=bought[stack.height][1],
        peak_now_deg=float(np.degrees(best_peak)) if np.isfinite(best_peak) else None,
        peak_then_deg=float(np.degrees(peak)),
        outer_drop_mm=stack.height,
        rack_raise_mm=float(space.settings.rack_raise[row]),
        **fitted_to_linkage(case, float(space.settings.ball_joint_drop[row])),
        stack_mm=list(stack.pieces),
    )


def _bought(evaluator: Evaluator, now: set[float]) -> Bought:
    """Stacks by height that one more shim makes possible, each with the shim; fewest pieces."""
    case, found = evaluator.case, Bought()
    if case.shelf is None:
        return found
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
