"""From readings to the next stack where both wheels were measured: each by its own readings.

The rack serves both wheels, so it stays where it is: each wheel is given a stack for it.  What
another rack height would bring, `suggest` weighs for both on the corrected case.
"""

from optimizer.car.evaluate import Evaluator
from optimizer.errors import PivotwrightError
from optimizer.gauge.between import SAME_MM
from optimizer.gauge.loop import gauge
from optimizer.gauge.sides import compared, side_difference
from optimizer.gauge.swept import swept
from optimizer.models.both_sides import SIDES, BothSides
from optimizer.models.case import Case
from optimizer.models.gauge import SideDifference
from optimizer.models.readings import MeasuredCar, Readings
from optimizer.models.together import GaugeOfBothSides
from optimizer.options.space import Shared
from optimizer.units import length_text


def gauge_both(car: BothSides, readings: list[Readings], *, seed: int = 0) -> GaugeOfBothSides:
    """Say what readings show of each wheel, and what to fit to it next.

    Parameters
    ----------
    car : BothSides
        Both wheels as measured by tape.
    readings : list of Readings
        Sweeps in the order taken, each of a named side; the last one says how high the rack is.
    seed : int
        As for `gauge`.

    Returns
    -------
    GaugeOfBothSides
        Of the wheel that was swept alone, if only one was; `sides` of the left wheel compares the
        last sweeps of both.

    Raises
    ------
    PivotwrightError
        A sweep does not say of which wheel it is, or can't be what its file says.
    """
    for one in readings:
        if one.side is None:
            raise PivotwrightError(
                f'{one.name}: side must be given, "left" or "right"; the case measures both wheels'
            )
    shared = _settled(car.left, readings[-1])
    results = [
        gauge(case, mine, seed=seed, shared=shared)
        for side, case in zip(SIDES, car.wheels, strict=True)
        if (mine := [one for one in readings if one.side == side])
    ]
    if len(results) == 1:
        return GaugeOfBothSides(**dict(results[0]), right=None)
    apart = {
        "sides": _sides(car, readings),
        "questions": results[0].questions + _two_racks(car.left, readings),
    }
    return GaugeOfBothSides(**dict(results[0].model_copy(update=apart)), right=results[1])


def _two_racks(case: Case, readings: list[Readings]) -> list[str]:
    """Ask where the last sweeps of both wheels have what they share at two heights."""
    if not case.words.steers:
        return []
    last = {one.side: one.rack_raise for one in readings}
    if abs(last["left"] - last["right"]) <= SAME_MM:
        return []
    left, right, taken = (
        length_text(height, case.units)
        for height in (last["left"], last["right"], readings[-1].rack_raise)
    )
    return [
        f"The last sweep of the left wheel has the {case.words.inner} raised by {left}, that of "
        f"the right wheel by {right}, but it serves both: {taken} is taken, as in the last sweep "
        "given. Is that how it is now?"
    ]


def _sides(car: BothSides, readings: list[Readings]) -> SideDifference:
    """Compare the last sweeps of both wheels as they were read, whatever was fitted."""
    last = {one.side: one for one in readings}
    left, right = (
        swept(last[side], Evaluator.of(case)) for side, case in zip(SIDES, car.wheels, strict=True)
    )
    sides = compared(left, right, None, MeasuredCar(), "right")
    return side_difference(sides, fitted_together=False)


def _settled(case: Case, last: Readings) -> Shared | None:
    """What both wheels keep; nothing where each has its inner bracket to itself."""
    if not case.words.steers:
        return None
    drop = last.ball_joint_drop
    return Shared(last.rack_raise, case.linkage_choices[0] if drop is None else drop)
