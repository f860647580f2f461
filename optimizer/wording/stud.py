"""What a setting asks of the stud and of the tie rod's thread."""

from collections.abc import Iterator

from optimizer.models.setting import Ranked, Strength
from optimizer.models.strength import RodThread, StudSection
from optimizer.models.suggest import SuggestResult
from optimizer.units import MM_PER_INCH
from optimizer.wording.reader import Reader

SEATS = {
    "tapered": "Stud in a tapered seat",
    "straight-bolt": "Straight bolt, kept in place by its clamp load alone",
}
NEWTONS_PER_POUND = 4.4482216152605  # exact, the international pound-force
PSI_PER_MPA = MM_PER_INCH**2 / NEWTONS_PER_POUND


def strength_in_words(first: Ranked, result: SuggestResult, reader: Reader) -> Iterator[str]:
    """Say what number 1 asks of both at each wheel."""
    for wheel, fitted in zip(result.wheels, first.wheels, strict=True):
        for text in stud_and_thread(fitted, wheel.stud, wheel.thread, reader):
            yield f"{reader.of_wheel(wheel.side)}{text}"


def stud_and_thread(
    strength: Strength, stud: StudSection | None, thread: RodThread | None, reader: Reader
) -> list[str]:
    """Say what a setting asks of both; nothing of what the case doesn't state."""
    lines = []
    if stud is not None:
        lines += [_section(stud, strength, reader), _strength(stud, strength, reader)]
    if thread is not None and strength.thread_engagement_mm is not None:
        lines.append(_thread(thread, strength.thread_engagement_mm, reader))
    return lines


def _section(stud: StudSection, strength: Strength, reader: Reader) -> str:
    ratio = strength.stud_height_ratio or 1.0
    lever = reader.length_with_unit(ratio * stud.standard_height_mm)
    middle = reader.spelled("The joint's center")
    return (
        f"{SEATS[stud.seat]}: the {stud.section}, {reader.length_with_unit(stud.diameter_mm)} "
        f"across, carries the load. {middle} is {lever} from it: {ratio:.2f} x the "
        f"standard height, {ratio:.2f} x the bending."
    )


def _strength(stud: StudSection, strength: Strength, reader: Reader) -> str:
    rod = reader.words.short_rod
    kind, stress, force = "proof", stud.proof_mpa, strength.stud_proof_force_n
    if force is None:
        kind, stress, force = "yield", stud.yield_mpa, strength.stud_yield_force_n
    standard = stud.standard_force_n
    if force is None or standard is None or stress is None:
        return "No strength is stated for it, so no force is given."
    grade = "" if stud.grade is None else f"{stud.grade}, from "
    if stud.rod_force_n is None or strength.stud_safety_factor is None:
        judged = f"No {rod} force is stated, so no safety factor is given."
    else:
        judged = (
            f"Against the stated {_force(stud.rod_force_n, reader)} that is a safety factor of "
            f"{strength.stud_safety_factor:.2f}."
        )
    return (
        f"It reaches its {kind} strength ({_stress(stress, reader)}, {grade}{stud.source}) at a "
        f"{rod} force of about {_force(force, reader)}, without a stack at "
        f"{_force(standard, reader)}. {judged} One steady force square to the stud is counted, not "
        "the clamp load, not notches and not fatigue: compare heights by it, rate nothing by it."
    )


def _thread(thread: RodThread, engaged_mm: float, reader: Reader) -> str:
    basis = "as stated" if thread.minimum_is_stated else "1.5 x diameter, common practice"
    left = reader.length_with_unit(engaged_mm) if engaged_mm > 0.0 else "nothing"
    text = (
        f"{reader.words.rod_thread.capitalize()}: {left} engaged "
        f"after {reader.words.resetting}, {reader.length_with_unit(thread.engaged_mm)} now; at "
        f"least {reader.length_with_unit(thread.minimum_mm)} wanted ({basis})"
    )
    if thread.full_strength_mm is None:
        return f"{text}."
    return (
        f"{text}. From {reader.length_with_unit(thread.full_strength_mm)} on, threads of one steel "
        "break rather than strip; a softer sleeve needs more."
    )


def _stress(mpa: float, reader: Reader) -> str:
    """Write a stress, in pounds per square inch too for a case in inches."""
    if reader.subject.units == "mm":
        return f"{mpa:.0f} MPa"
    return f"{mpa:.0f} MPa or {float(f'{mpa * PSI_PER_MPA:.3g}'):,.0f} psi"


def _force(newtons: float, reader: Reader) -> str:
    """Write a force with three digits, in pounds too for a case in inches."""
    text = f"{float(f'{newtons:.3g}'):,.0f} N"
    if reader.subject.units == "mm":
        return text
    return f"{text} ({float(f'{newtons / NEWTONS_PER_POUND:.3g}'):,.0f} lbf)"
