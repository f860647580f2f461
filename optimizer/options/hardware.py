"""What may be fitted in place of a case's own stack or shelf: adjuster kits."""

from typing import Any

from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.limits import Joint, OuterJoint


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
