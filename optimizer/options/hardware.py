"""Alternatives of hardware: the car's own, each kit, the own shelf with one shim more.

An alternative is a case for each wheel as it would stand with it.  Where an alignment is asked for
and several ball-joint extensions, plates or spacers may be fitted, each choice of them is an
alternative with an alignment of its own.
"""

from collections.abc import Iterator, Sequence
from itertools import compress
from typing import Any

from msgspec import Struct

from optimizer.car.alignment import aligned_apart, alignment_of
from optimizer.errors import PivotwrightError
from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.limits import Joint, OuterJoint
from optimizer.models.stacks import BuildableStack
from optimizer.models.vehicle import Vehicle


class Hardware(Struct, frozen=True):
    """One alternative; `cases` and `alignments` hold one entry a wheel.

    `stacks` are those of each wheel where they are others than its case builds.  `may_leave` tells
    whether leaving the car as it is belongs to it, and `must_leave` that nothing else does;
    `extended` whether an extension, plate or spacer other than the car's comes with it.
    """

    cases: tuple[Case, ...]
    alignments: tuple[AlignmentAnswer | None, ...]
    kit: Kit | None = None
    stacks: tuple[list[BuildableStack], ...] | None = None
    may_leave: bool = True
    must_leave: bool = False
    extended: bool = False

    @property
    def drills(self) -> bool:
        """Whether fitting it can't be undone."""
        return self.kit is not None and self.kit.irreversible

    @property
    def price(self) -> float:
        """For comparing kits: infinite where none is stated, 0 without a kit."""
        return 0.0 if self.kit is None else self.kit.known_price


def alternatives(vehicle: Vehicle, kits: Sequence[Kit] = ()) -> list[Hardware]:
    """Everything that may be fitted: leaving it and each kit, or the car's own hardware."""
    unjudged = judged_on(vehicle, kits)[1]
    if unjudged is not None:
        raise unjudged
    found: list[Hardware] = []
    for own in _aligned(vehicle):
        if not kits:
            found.append(own)
            continue
        if own.may_leave:
            found.append(Hardware(own.cases, own.alignments, must_leave=True))
        for kit in kits:
            cases = tuple(case_with_kit(case, kit) for case in own.cases)
            found.append(
                Hardware(cases, own.alignments, kit, may_leave=False, extended=own.extended)
            )
    return found


def judged_on(
    vehicle: Vehicle, kits: Sequence[Kit]
) -> tuple[tuple[Kit, ...], PivotwrightError | None]:
    """Kits that can be judged on a car, and what must be known of all others.

    What the car's retaining washers cost of a tilt, a maker's figure doesn't tell.
    """
    washers = any(case.joint.retaining_washer is not None for case in vehicle.wheels)
    told = [not (washers and kit.rod_end and kit.rod_end.tilt_limit_deg) for kit in kits]
    names = [f'"{kit.name}"' for kit, is_told in zip(kits, told, strict=True) if not is_told]
    message = (
        f"kit{'s' * (len(names) > 1)} {', '.join(names)}: rod_end must state the sizes of its "
        "ball, because the case has a joint.retaining_washer\n(give ball_width, race_width and "
        "ball_diameter in place of tilt_limit_deg)"
    )
    return tuple(compress(kits, told)), PivotwrightError(message) if names else None


def _aligned(vehicle: Vehicle) -> Iterator[Hardware]:
    """The car's own hardware, aligned as it asks: once, or anew for each choice of the linkage."""
    for place, wheels in enumerate(zip(*map(aligned_apart, vehicle.wheels), strict=True)):
        yield _own(wheels, extended=place > 0)


def _own(wheels: Sequence[Case], *, extended: bool = False) -> Hardware:
    cases, alignments = zip(*(alignment_of(case) for case in wheels), strict=True)
    return Hardware(cases, alignments, may_leave=not extended, extended=extended)


def case_with_kit(case: Case, kit: Kit) -> Case:
    """Make the case of the same car with a kit in place of its own stack and shelf.

    Of the outer joint, the stud and the thread the kit replaces what it states.  A stud of the case
    that is held otherwise than the kit has no place in it, so the kit's is then not known.
    """
    joint = case.joint
    if kit.rod_end is not None:
        joint = _joint_with(joint, kit)
    stud = case.stud
    if kit.stud is not None:
        force = kit.stud.rod_force_n or (None if stud is None else stud.rod_force_n)
        stud = kit.stud.model_copy(update={"rod_force_n": force})
    elif stud is not None and stud.seat != kit.seat:
        stud = None
    return case.model_copy(
        update={
            "outer_pivot": case.outer_pivot.model_copy(update={"stack": kit.stack}),
            "shelf": kit.shelf,
            "joint": joint,
            "stud": stud,
            "thread": case.thread if kit.thread is None else kit.thread,
        }
    )


def _joint_with(joint: Joint, kit: Kit) -> Joint:
    if kit.rod_end is None:
        return joint
    sizes = kit.rod_end.model_dump(include={"housing_diameter", "housing_height"})
    changes: dict[str, Any] = {name: size for name, size in sizes.items() if size is not None}
    if kit.rod_end.states_a_limit:
        limit = kit.rod_end.model_dump(exclude={"housing_diameter", "housing_height"})
        changes["outer"] = OuterJoint(**limit, bolt_axis=joint.outer.bolt_axis)
    return joint.model_copy(update=changes)
