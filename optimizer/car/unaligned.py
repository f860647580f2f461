"""The car before its alignment was set, from points of the car with it set.

A part was moved by known amounts, and the upright came to stand otherwise for it.  Setting the
alignment is nearly a shift of every point, so points that miss what they should become are put
right by what they miss, and again, until nothing is missing.
"""

import numpy as np
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.adjust import Corner, mirror_of, points_of
from optimizer.car.aligner import Aligner, amount_of_turn
from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.case import Case
from optimizer.models.gauge import BeforeAlignment

LENGTH_ATOL = 1e-9  # how nearly the points come out with the alignment set again [mm]
MOST_STEPS = 50


def before_alignment(case: Case, answer: AlignmentAnswer, aligned: Corner) -> BeforeAlignment:
    """Points that a tape would have found before a part was moved.

    Parameters
    ----------
    case : Case
        The car as measured, asking for its alignment.
    answer : AlignmentAnswer
        What was moved for it, and by how much.
    aligned : Corner
        The car with the part moved, its points corrected.

    Returns
    -------
    BeforeAlignment
        Moving the part as far makes of its points those of `aligned`, and gives the angles that it
        says, of those that the case asks for: points that were corrected are of another car, which
        the same move gives another camber and caster.
    """
    assert case.alignment is not None
    alignment, aligner = case.alignment, Aligner.of(case, case.alignment)
    amounts = _amounts(aligner, answer, mirror_of(case))
    for _ in range(MOST_STEPS):
        found = aligner.remeasured(amounts).now.measured
        miss = {name: point - found[name] for name, point in aligned.measured.items()}
        aligner = replace(aligner, corner=_shifted(aligner.corner, miss))
        if max(float(np.abs(way).max()) for way in miss.values()) <= LENGTH_ATOL:
            break
    camber, caster = np.degrees(aligner.angles(amounts)).tolist()
    return BeforeAlignment(
        points=points_of(case, aligner.corner),
        camber_deg=None if alignment.camber_deg is None else camber,
        caster_deg=None if alignment.caster_deg is None else caster,
    )


def _amounts(aligner: Aligner, answer: AlignmentAnswer, mirror: Array) -> Array:
    """How far each knob was moved, from what was answered. [mm]."""
    if answer.turn_deg is not None:
        return np.array([amount_of_turn(answer.turn_deg)])
    moves = {part.point: np.array(part.by_mm) * mirror for part in answer.moved}
    first = [next(iter(knob.points.items())) for knob in aligner.knobs]
    return np.array([moves[name] @ way for name, way in first])


def _shifted(corner: Corner, by: dict[str, Array]) -> Corner:
    """The car with its measured points shifted. [mm]."""
    return replace(
        corner,
        points={name: point + by[name] for name, point in corner.points.items()},
        outer_seat=corner.outer_seat + by[f"{corner.rod}_outer"],
        inner=corner.inner + by[f"{corner.rod}_inner"],
    )
