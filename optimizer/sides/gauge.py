"""From readings to the next stack where both wheels were measured: each by its own readings.

The rack serves both wheels, so it stays where it is: each wheel is given a stack for it.  What
another rack height would bring, `suggest` weighs for both on the corrected case.
"""

from optimizer.errors import PivotwrightError
from optimizer.gauge.loop import gauge
from optimizer.models.both_sides import SIDES, BothSides
from optimizer.models.case import Case
from optimizer.models.readings import Readings
from optimizer.models.together import GaugeOfBothSides
from optimizer.search.space import Shared


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
        Of the wheel that was swept alone, if only one was.

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
    return GaugeOfBothSides(**dict(results[0]), right=results[1] if len(results) > 1 else None)


def _settled(case: Case, last: Readings) -> Shared | None:
    """What both wheels keep; nothing where each has its inner bracket to itself."""
    if not case.words.steers:
        return None
    drop = last.ball_joint_drop
    return Shared(last.rack_raise, case.lower_ball_joint.drop[0] if drop is None else drop)
