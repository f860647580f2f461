"""Camber and caster set after lowering: a part is moved until the wanted values are reached.

The answer is the same car at the same height, tie rod as long as it was, as it would be measured
with the part moved; so whatever follows, ride height and toe reset included, is what it is for any
case.
"""

import numpy as np
from msgspec.structs import asdict

from geometry.newton import solution
from geometry.vectors import Array
from optimizer.car.adjust import mirror_of
from optimizer.car.aligner import Aligner, amount_of_turn
from optimizer.car.linkage import with_linkage
from optimizer.car.tape import case_by_lengths
from optimizer.errors import Fault, PivotwrightError
from optimizer.models.alignment import (
    Alignment,
    AlignmentAnswer,
    AlignmentMove,
    MovedPart,
    Slide,
)
from optimizer.models.case import Case
from optimizer.models.obstacles import Link
from optimizer.units import Units
from optimizer.wording.faults import (
    Angles,
    angle_out_of_reach,
    no_height_to_align_at,
    stuck_link,
    too_far_to_move,
)

ANGLE_ATOL = 1e-12  # how exactly the wanted angles are met [rad]
LEFT_BY_ROUNDING = 1e-11  # what may be left where no step makes it better [rad]
SLOPE_STEP = 0.01  # move over which the slope of an angle is taken [mm]
LONGEST_STEP = 25.0  # of one Newton step [mm]
NEWTON_STEPS = 40
HALVINGS = 12
EXACT_MM = 0.05  # nearer than this, a part goes as far as asked


class AlignmentError(PivotwrightError):
    """An alignment that the car can't be given; `fault` says where the case asks for it."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault
        super().__init__(f"{fault.location} {fault.message}")


def aligned_case(case: Case) -> Case:
    """Case of the same car with its alignment set; the case itself where it asks for none.

    Raises
    ------
    AlignmentError
        As `alignment_of`.
    """
    return alignment_of(case)[0]


def aligned_apart(case: Case) -> list[Case]:
    """The case once for each choice of the linkage, which takes an alignment of its own."""
    if case.alignment is None or len(case.linkage_choices) == 1:
        return [case]
    return [with_linkage(case, asdict(choice)) for choice in case.linkage_choices]


def alignment_of(case: Case) -> tuple[Case, AlignmentAnswer | None]:
    """Set the alignment that a case asks for at its ride height.

    Parameters
    ----------
    case : Case
        The car as measured.

    Returns
    -------
    Case, AlignmentAnswer or None
        The car with its points where tape and measured lengths have them, as it would be
        measured at the same height with the part moved and the tie rod as long as before, its
        `alignment` left out; and what was moved, None where nothing is asked.

    Raises
    ------
    AlignmentError
        The part can't be moved so that the wanted angles come out, or not so far.
    """
    case = case_by_lengths(case)
    alignment = case.alignment
    if alignment is None:
        return case, None
    aligner = Aligner.of(case, alignment)
    before = aligner.angles(np.zeros(len(aligner.knobs)))
    if np.isnan(before).any():
        raise AlignmentError(no_height_to_align_at())
    amounts = _amounts(aligner, alignment, before, case.units)
    _refuse_too_far(aligner, alignment, amounts, case.units)
    moved = aligner.remeasured(amounts).case(_settled(case, aligner))
    _refuse_stuck_links(moved)
    camber, caster = np.degrees([before, aligner.angles(amounts)]).T.tolist()
    mirror = mirror_of(case)
    return moved, AlignmentAnswer(
        by=alignment.by,
        what_to_move=_what_to_move(aligner, alignment, amounts),
        moved=[
            MovedPart(point=name, by_mm=(move * mirror + 0.0).tolist())
            for name, move in aligner.moves(amounts).items()
        ],
        turn_deg=aligner.turn_deg(amounts) if alignment.by == "strut-bolts" else None,
        camber_before_deg=camber[0],
        camber_deg=camber[1],
        caster_before_deg=caster[0],
        caster_deg=caster[1],
    )


def _settled(case: Case, aligner: Aligner) -> Case:
    """The case without its wish, its static toe said where that of the wheel may change."""
    ride = case.ride.model_copy(update={"toe_deg": aligner.toe_deg})
    return case.model_copy(update={"ride": ride, "alignment": None})


def _amounts(aligner: Aligner, alignment: Alignment, before: Array, units: Units) -> Array:
    """Amounts that give the wanted angles, by Newton's method with shortened steps. [mm]."""
    wishes = (alignment.camber_deg, alignment.caster_deg)
    asked = [k for k, wish in enumerate(wishes) if wish is not None]
    wanted = np.radians([wish for wish in wishes if wish is not None])
    amounts, angles = np.zeros(len(aligner.knobs)), before
    for _ in range(NEWTON_STEPS):
        miss = wanted - angles[asked]
        if np.abs(miss).max() <= ANGLE_ATOL:
            return amounts
        step = _step(aligner, amounts, angles, miss, asked)
        for _ in range(HALVINGS):
            there = aligner.angles(amounts + step)
            if np.abs(wanted - there[asked]).max() < np.abs(miss).max():
                amounts, angles = amounts + step, there
                break
            step = 0.5 * step
        else:
            break
    if np.abs(wanted - angles[asked]).max() <= LEFT_BY_ROUNDING:
        return amounts
    move = _what_to_move(aligner, alignment, amounts)
    raise AlignmentError(angle_out_of_reach(alignment, move, _in_degrees(angles), units))


def _step(aligner: Aligner, amounts: Array, angles: Array, miss: Array, asked: list[int]) -> Array:
    """Newton step, at most `LONGEST_STEP` long. [mm]."""
    slopes = [
        (aligner.angles(amounts + SLOPE_STEP * one)[asked] - angles[asked]) / SLOPE_STEP
        for one in np.eye(len(amounts))
    ]
    step = solution(np.array(slopes).T, miss[:, None])[:, 0]
    longest = float(np.abs(step).max())
    return step * min(1.0, LONGEST_STEP / longest) if longest > 0.0 else step


def _refuse_too_far(aligner: Aligner, alignment: Alignment, amounts: Array, units: Units) -> None:
    if alignment.most_deg is not None:
        limit = amount_of_turn(alignment.most_deg)
    elif alignment.most is not None:
        limit = alignment.most
    else:
        return
    if np.abs(amounts).max() <= limit + EXACT_MM:
        return
    held = aligner.angles(np.clip(amounts, -limit, limit))
    move = _what_to_move(aligner, alignment, amounts)
    raise AlignmentError(too_far_to_move(alignment, move, _in_degrees(held), units))


def _refuse_stuck_links(case: Case) -> None:
    for place, part in enumerate(case.obstacles, start=1):
        if isinstance(part, Link) and np.isnan(part.end).any():
            raise AlignmentError(stuck_link(place))


def _in_degrees(angles: Array) -> Angles:
    camber, caster = np.degrees(angles).tolist()
    return camber, caster


def _what_to_move(aligner: Aligner, alignment: Alignment, amounts: Array) -> AlignmentMove:
    if alignment.by == "strut-bolts":
        return AlignmentMove(kind=alignment.by, turn_deg=aligner.turn_deg(amounts))
    return AlignmentMove(
        kind=alignment.by,
        slides=tuple(
            Slide(forward_mm=forward, outboard_mm=outboard)
            for forward, outboard, _ in aligner.moves(amounts).values()
        ),
    )
