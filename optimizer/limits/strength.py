"""What a setting asks of the stud, and what the toe reset leaves of the tie rod's thread.

No load is invented.  Without a stated rod force the figures are the forces at which the stud
reaches its strength, and the height of the joint against the standard one.
"""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from geometry.stud import force_at_stress
from geometry.threads import METRIC, UNIFIED, ThreadForm, full_strength_engagement, root_diameter
from geometry.vectors import Array
from optimizer.models.case import Case
from optimizer.models.grades import Grade
from optimizer.models.strength import RodThread, StudSection
from optimizer.models.stud import ScrewThread, Stud
from optimizer.models.tables import grade_of


class StrengthFigures(Struct, frozen=True):
    """Figures of M settings, (M,) each, None where the case states nothing to find them from.

    `height_ratio` is the lever of the rod force against that of the standard joint; `proof_force`
    and `yield_force` are the rod forces at which the stud reaches its strength [N];
    `safety_factor` is the lower of them against the stated rod force; `engagement` is what the toe
    reset leaves of the tie rod's thread [mm].
    """

    height_ratio: Array | None = None
    proof_force: Array | None = None
    yield_force: Array | None = None
    safety_factor: Array | None = None
    engagement: Array | None = None

    def row(self, k: int) -> dict[str, float | None]:
        """Figures of one setting, by their names in a result."""
        return {
            "stud_height_ratio": _item(self.height_ratio, k),
            "stud_proof_force_n": _item(self.proof_force, k),
            "stud_yield_force_n": _item(self.yield_force, k),
            "stud_safety_factor": _item(self.safety_factor, k),
            "thread_engagement_mm": _item(self.engagement, k),
        }


def strength_figures(case: Case, drop: Array, rod_length_change: Array) -> StrengthFigures:
    """Find what settings ask of the stud and of the thread.

    Parameters
    ----------
    case : Case
        The stud and the thread, either of which may be left out.
    drop : (M,) float array
        Height that the stud must make up for, see `Corner.drop_along_stud`. [mm]
    rod_length_change : (M,) float array
        How much longer than measured the tie rod becomes; all of it is taken at the stated thread.
        [mm]

    Returns
    -------
    StrengthFigures
        NaN for a setting whose rod length is NaN.
    """
    thread, stud = case.thread, case.stud
    engagement = None if thread is None else thread.engaged - rod_length_change
    if stud is None:
        return StrengthFigures(engagement=engagement)
    lever, section = stud_lever(stud, drop), section_diameter(stud)
    proof, yields = (
        None if strength is None else force_at_stress(strength, lever, section)
        for strength in strengths_mpa(stud)
    )
    least = yields if proof is None else proof
    force = stud.rod_force_n
    return StrengthFigures(
        height_ratio=lever / stud.standard_height,
        proof_force=proof,
        yield_force=yields,
        safety_factor=None if least is None or force is None else least / force,
        engagement=engagement,
    )


def stud_lever(stud: Stud, drop: Array) -> Array:
    """From the section that carries the load to the joint's center, (M,) to (M,). [mm].

    Below 0 the joint has moved to the arm's other side, by the arm's thickness less than it seems;
    that thickness is not known, so the whole drop is taken, which is on the safe side.
    """
    return np.maximum(stud.standard_height + drop, -drop)


def section_diameter(stud: Stud) -> float:
    """Diameter of the section that carries the load. [mm]."""
    if stud.thread is None:
        return stud.nominal_diameter
    pitch = stud.thread.pitch_mm or 0.0
    return float(root_diameter(stud.thread.diameter, pitch, _form(stud.thread)))


def strengths_mpa(stud: Stud) -> tuple[float | None, float | None]:
    """Proof and yield strength, each None where it is not known. [MPa]."""
    strength = _grade(stud) or stud
    return strength.proof_mpa, strength.yield_mpa


def strength_limits(
    case: Case, drop: Array, rod_length_change: Array
) -> Iterator[tuple[str, str, Array, float]]:
    """Kind, name, value and least value of what must be kept: "thread" [mm] and "stud" [-]."""
    figures = strength_figures(case, drop, rod_length_change)
    if case.thread is not None and figures.engagement is not None:
        yield "thread", case.words.rod_thread, figures.engagement, case.thread.least
    if figures.safety_factor is not None:
        name = "yield strength" if figures.proof_force is None else "proof strength"
        yield "stud", name, figures.safety_factor, 1.0


def stud_section(case: Case) -> StudSection | None:
    """Describe the section that carries the load, and its strength; None without a stud."""
    stud = case.stud
    if stud is None:
        return None
    proof, yields = strengths_mpa(stud)
    place = "shank" if stud.seat == "straight-bolt" else "large end of the taper"
    grade = _grade(stud)
    standard = strength_figures(case, np.zeros(1), np.zeros(1))
    force = standard.yield_force if standard.proof_force is None else standard.proof_force
    return StudSection(
        seat=stud.seat,
        section=place if stud.thread is None else "root of the thread",
        diameter_mm=section_diameter(stud),
        standard_height_mm=stud.standard_height,
        grade=stud.grade,
        proof_mpa=proof,
        yield_mpa=yields,
        source=stud.strength_source if grade is None else grade.source,
        standard_force_n=_item(force, 0),
        rod_force_n=stud.rod_force_n,
    )


def rod_thread(case: Case) -> RodThread | None:
    """Describe the tie rod's thread as it is now; None where the case states none."""
    thread = case.thread
    if thread is None:
        return None
    pitch = thread.pitch_mm
    strong = None
    if pitch is not None:
        strong = float(full_strength_engagement(thread.diameter, pitch, _form(thread)))
    return RodThread(
        diameter_mm=thread.diameter,
        engaged_mm=thread.engaged,
        minimum_mm=thread.least,
        minimum_is_stated=thread.minimum is not None,
        full_strength_mm=strong,
    )


def _grade(stud: Stud) -> Grade | None:
    """Row of the stud's grade; None where its strength is stated, or not known."""
    return None if stud.grade is None else grade_of(stud.grade, stud.nominal_diameter)


def _form(thread: ScrewThread) -> ThreadForm:
    return METRIC if thread.threads_per_inch is None else UNIFIED


def _item(values: Array | None, k: int) -> float | None:
    return None if values is None else float(values[k])
