"""Both wheels' curves at once: total toe, and what parts the sides."""

from optimizer.answers.curve import curve
from optimizer.answers.sides.causes import compared
from optimizer.models.both_sides import BothSides
from optimizer.models.curve import CurveRequest
from optimizer.models.together import CurveOfBothSides, CurvesTogether, PairRequest


def curve_both(car: BothSides, request: PairRequest | None = None) -> CurveOfBothSides:
    """Follow both wheels through their travel, together or, in roll, one up and the other down.

    Parameters
    ----------
    car : BothSides
        Both wheels.
    request : PairRequest, optional
        What to fit, where to stand, how to step; the car as it is if left out.

    Returns
    -------
    CurveOfBothSides
        Total toe and toe difference (left less right) at each of the left wheel's heights; the
        causes are of the car as it is, whatever was asked for.
    """
    asked = PairRequest() if request is None else request
    common = {name: getattr(asked, name) for name in CurveRequest.model_fields}
    left = curve(car.left, CurveRequest(**common))
    if asked.right_outer_drop is not None:
        common["outer_drop"] = asked.right_outer_drop
    if asked.opposite:
        ride = car.right.ride
        common["bump"] = ride.droop if asked.droop is None else asked.droop
        common["droop"] = ride.bump if asked.bump is None else asked.bump
    right = curve(car.right, CurveRequest(**common))
    order = -1 if asked.opposite else 1
    pairs = list(zip(left.toe_deg, right.toe_deg[::order], strict=True))
    return CurveOfBothSides(
        **dict(left),
        right=right,
        together=CurvesTogether(
            **dict(compared(car)),
            right_travel_mm=right.travel_mm[::order],
            total_toe_deg=[None if a is None or b is None else a + b for a, b in pairs],
            toe_difference_deg=[None if a is None or b is None else a - b for a, b in pairs],
        ),
    )
