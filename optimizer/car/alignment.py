"""Camber and caster set after lowering: a part is moved until the wanted values are reached.

The answer is the same car at the same height, tie rod as long as it was, as it would be measured
with the part moved; so whatever follows, ride height and toe reset included, is what it is for any
case.
"""

import numpy as np

from geometry.newton import solution
from geometry.vectors import Array
from optimizer.car.adjust import mirror_of
from optimizer.car.aligner import Aligner, amount_of_turn
from optimizer.errors import Fault, PivotwrightError
from optimizer.models.alignment import Alignment, AlignmentAnswer, MovedPart
from optimizer.models.case import Case
from optimizer.models.obstacles import Link
from optimizer.units import Units, length_text, short_length

ANGLE_ATOL = 1e-12  # how exactly the wanted angles are met [rad]
LEFT_BY_ROUNDING = 1e-11  # what may be left where no step makes it better [rad]
SLOPE_STEP = 0.01  # move over which the slope of an angle is taken [mm]
LONGEST_STEP = 25.0  # of one Newton step [mm]
NEWTON_STEPS = 40
HALVINGS = 12
NOTHING_MM = 0.05  # a move that no one can make


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


def alignment_of(case: Case) -> tuple[Case, AlignmentAnswer | None]:
    """Set the alignment that a case asks for at its ride height.

    Parameters
    ----------
    case : Case
        The car as measured.

    Returns
    -------
    Case, AlignmentAnswer or None
        The car as it would be measured at the same height with the part moved and the tie rod as
        long as before, its `alignment` left out; and what was moved, None where nothing is asked.

    Raises
    ------
    AlignmentError
        The part can't be moved so that the wanted angles come out, or not so far.
    """
    alignment = case.alignment
    if alignment is None:
        return case, None
    aligner = Aligner.of(case, alignment)
    before = aligner.angles(np.zeros(len(aligner.knobs)))
    if np.isnan(before).any():
        message = "must be a height at which the linkage can be joined"
        raise AlignmentError(Fault("ride.lowered_by", message))
    amounts = _amounts(aligner, alignment, before, case.units)
    _refuse_too_far(aligner, alignment, amounts, case.units)
    moved = aligner.remeasured(amounts).case(_settled(case, aligner))
    _refuse_stuck_links(moved)
    camber, caster = np.degrees([before, aligner.angles(amounts)]).T.tolist()
    mirror = mirror_of(case)
    return moved, AlignmentAnswer(
        by=alignment.by,
        what_to_move=what_to_move(aligner, alignment, amounts, case.units),
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
    key = "camber_deg" if alignment.camber_deg is not None else "caster_deg"
    raise AlignmentError(
        Fault(
            f"alignment.{key}",
            f'must be an angle that "{alignment.by}" can set, got {_wish(alignment)}\n'
            f"(it comes no nearer than {_angles(angles)}:\n"
            f"{what_to_move(aligner, alignment, amounts, units)})",
        )
    )


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
    bolts = alignment.by == "strut-bolts"
    key = "most_deg" if bolts else "most"
    most = getattr(alignment, key)
    if most is None:
        return
    limit = amount_of_turn(most) if bolts else most
    if np.abs(amounts).max() <= limit + NOTHING_MM:
        return
    stated = f"{most:g} deg" if bolts else length_text(most, units)
    held = np.clip(amounts, -limit, limit)
    raise AlignmentError(
        Fault(
            f"alignment.{key}",
            f"must be enough for {_wish(alignment)}, got {stated}\n"
            f"(that takes: {what_to_move(aligner, alignment, amounts, units)};\n"
            f"no farther than {stated} gives {_angles(aligner.angles(held))})",
        )
    )


def _refuse_stuck_links(case: Case) -> None:
    for place, part in enumerate(case.obstacles, start=1):
        if isinstance(part, Link) and np.isnan(part.end).any():
            message = "can't follow the upright to the wanted alignment\n(check the link's points)"
            raise AlignmentError(Fault(f"obstacles[{place}]", message))


def _wish(alignment: Alignment) -> str:
    wishes = {"camber": alignment.camber_deg, "caster": alignment.caster_deg}
    return " and ".join(f"{name} {x:g} deg" for name, x in wishes.items() if x is not None)


def _angles(angles: Array) -> str:
    camber, caster = np.degrees(angles)
    return f"camber {camber:.2f} deg and caster {caster:.2f} deg"


def what_to_move(aligner: Aligner, alignment: Alignment, amounts: Array, units: Units) -> str:
    """Say what must be moved, and by how much, as a technician would."""
    if alignment.by == "strut-bolts":
        turn = aligner.turn_deg(amounts)
        way = "outboard" if turn > 0.0 else "inboard"
        return f"turn the upright {abs(turn):.2f} deg against the strut at its bolts, top {way}"
    moves = aligner.moves(amounts)
    if alignment.by == "strut-top":
        (move,) = moves.values()
        return f"slide the strut top {_ways(move, units)}"
    (front, rear), arm = moves.values(), alignment.by.replace("-", " ")
    if np.array_equal(front, rear):
        return f"shim both inner pivots of the {arm} {_ways(front, units)}"
    ways = f"{_ways(front, units)} and its rear one {_ways(rear, units)}"
    return f"shim the {arm}'s front inner pivot {ways}"


def _ways(move: Array, units: Units) -> str:
    forward, outboard, _ = move.tolist()
    found = [
        f"{short_length(abs(length), units)} {more if length > 0.0 else less}"
        for length, more, less in (
            (outboard, "outboard", "inboard"),
            (forward, "forward", "rearward"),
        )
        if abs(length) >= NOTHING_MM
    ]
    return " and ".join(found) or "nowhere"
