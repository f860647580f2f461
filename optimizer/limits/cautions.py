"""What must be told before a part is changed: the usual cautions, most pressing first.

Common practice, no source: no load, limit or strength is invented here.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

from optimizer.limits.tilts import tilt_limit_deg
from optimizer.models.case import Case
from optimizer.models.cautions import Caution, CautionKind
from optimizer.models.kits import Kit
from optimizer.models.setting import Fitted, LinkageFitted, WheelSetting
from optimizer.models.stud import Stud
from optimizer.units import Side

Now = Mapping[Side, LinkageFitted]  # what the linkage of a wheel has now, by its side

ALWAYS = (Caution(kind="reset-toe"), Caution(kind="no-heating"))
JUDGEMENT = Caution(kind="judgement")
THREAD_CHANGE_MM = 3.0  # a toe reset beyond this is worth a look at the thread


def cautions(wheels: Sequence[WheelSetting], now: Now) -> list[Caution]:
    """Cautions that a setting of one wheel or two calls for, each once, and who judges.

    `now` is what the linkage of each wheel has now: what comes off calls for them too.
    The dead center that is come nearest to, if too near; those of each wheel; those that hold
    always; who judges.
    """
    near = [one for wheel in wheels for one in wheel.dead_centers if one.angle_deg < one.least_deg]
    nearest = sorted(near, key=lambda one: one.angle_deg)[:1]
    own: dict[str, Caution] = {}
    for wheel in wheels:
        for caution in _of_a_wheel(wheel, now):
            known = own.get(caution.kind)
            if known is None or (caution.length_mm or 0.0) > (known.length_mm or 0.0):
                own[caution.kind] = caution
    warned = [Caution(kind="dead-center", near=one) for one in nearest]
    return [*warned, *own.values(), *_usual(stack=any(x.outer_drop_mm for x in wheels))]


def cautions_of_parts(wheels: Sequence[Fitted], now: Now) -> list[Caution]:
    """Cautions about the parts that are to be fitted; of the car as it is, only who judges."""
    own = {one.kind: one for wheel in wheels for one in [*_stack(wheel), *_raised(wheel, now)]}
    if not own:
        return [JUDGEMENT]
    return [*own.values(), *_usual(stack="single-shear" in own)]


def unjudged(cases: Sequence[Case]) -> list[Caution]:
    """What no one can tell of some wheels for want of a limit: then it is tried by hand."""
    found: list[Caution] = []
    if any(tilt_limit_deg(case.joint.outer) is None for case in cases):
        found.append(Caution(kind="no-tilt-limit"))
    if any(not case.obstacles for case in cases):
        found.append(Caution(kind="no-obstacles"))
    return found


def cautions_of_choices(
    wheels: Sequence[Fitted], kits: Sequence[Kit], stud: Stud | None, now: Now
) -> list[Caution]:
    """Cautions about whatever some of many choices fit, no size named; nothing where none does.

    `kits` are those that may be fitted, `stud` is the car's own.
    """
    raised = (_raised(wheel, now) for wheel in wheels)
    each = [*chain.from_iterable(map(_stack, wheels)), *chain.from_iterable(raised)]
    kinds = dict.fromkeys(one.kind for one in each)
    if not kinds:
        return []
    seats = [*chain.from_iterable(seat_cautions(kit, stud) for kit in kits)]
    drilled = [one for one in seats if one.kind == "taper-drilled"]
    usual = _usual(stack="single-shear" in kinds and len(drilled) < max(len(kits), 1))
    return [*seats, *(Caution(kind=kind) for kind in kinds), *usual]


def seat_cautions(kit: Kit, stud: Stud | None) -> Iterator[Caution]:
    """What a kit's seat in the arm undoes for good, or can't find there; `stud` is the car's own.

    An arm that holds a straight bolt is taken for one whose taper is drilled out.
    """
    bolted = stud is not None and stud.seat == "straight-bolt"
    if bolted != (kit.seat == "straight-bolt"):
        yield Caution(kind="taper-gone" if bolted else "taper-drilled", kit=kit.name)


def cautions_without_points(*, stack: bool, raised: bool) -> list[Caution]:
    """Cautions about a change of outer pivot, of what is inboard, or of both, on a car unseen."""
    kinds: list[CautionKind] = ["single-shear"] if stack else []
    kinds += ["no-tilt-limit", "no-obstacles"]
    kinds += ["inner-raised"] if raised else []
    return [*(Caution(kind=kind) for kind in kinds), *_usual(stack=stack)]


def _usual(*, stack: bool) -> list[Caution]:
    """What holds of every change; a taper is in play only under a stack."""
    return [*([Caution(kind="taper")] if stack else []), *ALWAYS, JUDGEMENT]


def _stack(wheel: Fitted) -> Iterator[Caution]:
    if wheel.outer_drop_mm != 0.0:
        yield Caution(
            kind="single-shear",
            length_mm=abs(wheel.outer_drop_mm),
            washers=len(wheel.stack_mm) > 1,
        )


def _raised(wheel: Fitted, now: Now) -> Iterator[Caution]:
    """What is moved beside the stack, or fitted, or comes off."""
    was = now.get(wheel.side, LinkageFitted())
    there = {
        name: length if length else getattr(was, name)
        for name, length in wheel.model_dump(include=set(LinkageFitted.model_fields)).items()
    }
    if wheel.rack_raise_mm != 0.0 or there["rack_tilt_mm"]:
        yield Caution(kind="inner-raised")
    if wheel.rack_fore_aft_mm != 0.0:
        yield Caution(kind="inner-shifted")
    if there["ball_joint_drop_mm"]:
        yield Caution(kind="extension")
    if there["knuckle_plate_mm"] or there["crossmember_spacer_mm"]:
        yield Caution(kind="spaced-part")
    if there["frame_bracket_raise_mm"] or there["axle_bracket_raise_mm"]:
        yield Caution(kind="lateral-brackets")
    if block := there["lift_block_mm"]:
        yield Caution(kind="lift-block", length_mm=abs(block))
    if there["shackle_longer_mm"]:
        yield Caution(kind="shackle")


def _of_a_wheel(wheel: WheelSetting, now: Now) -> Iterator[Caution]:
    yield from _stack(wheel)
    if wheel.tilt_margin_deg is None:
        yield Caution(kind="no-tilt-limit")
    if wheel.clearance_mm is None:
        yield Caution(kind="no-obstacles")
    yield from _raised(wheel, now)
    change = abs(wheel.tie_rod_length_change_mm)
    if wheel.thread_engagement_mm is None and change > THREAD_CHANGE_MM:
        yield Caution(kind="thread", length_mm=change)
