"""What may be chosen of a linkage, and where a case lists it."""

from collections.abc import Iterable, Mapping

from optimizer.models.case import Case
from optimizer.models.points import BeamAxlePoints, LeafAxlePoints
from optimizer.models.setting import LinkageFitted
from optimizer.models.vehicle import Vehicle
from optimizer.wording.faults import no_such_part, no_tilt

BRACKETS = {
    "frame_bracket_raise": ("lateral_link", "frame_bracket"),
    "axle_bracket_raise": ("lateral_link", "axle_bracket"),
}
OF_LEAVES = {
    "lift_block": ("leaf_spring", "lift_block"),
    "shackle_longer": ("leaf_spring", "shackle_longer"),
}
AT_LOWER_ARM = {
    "ball_joint_drop": ("lower_ball_joint", "drop"),
    "knuckle_plate": ("knuckle_plate", "thickness"),
    "crossmember_spacer": ("crossmember", "spacer"),
}
OF_RACK = {"rack_tilt": ("rack", "tilt")}
LISTED = AT_LOWER_ARM | BRACKETS | OF_RACK | OF_LEAVES  # table and key, by `LinkageChoice`'s fields


def linkage_parts(case: Case) -> dict[str, tuple[str, str]]:
    """Table and key of every length that may be chosen of this layout's linkage, by its name."""
    if isinstance(case.points, BeamAxlePoints):
        return BRACKETS
    if isinstance(case.points, LeafAxlePoints):
        return OF_LEAVES
    return AT_LOWER_ARM | OF_RACK if hasattr(case.points, "lower_ball_joint") else OF_RACK


def linkage_lengths(case: Case, fitted: LinkageFitted) -> dict[str, float]:
    """What a result says is fitted to the linkage of a case, by the part that it is of. [mm]."""
    return {part: getattr(fitted, f"{part}_mm") for part in linkage_parts(case)}


def refuse_missing_parts(vehicle: Vehicle, fitted: Mapping[str, float]) -> None:
    """Stop where something is fitted to a part that the suspension has not.

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    fitted : mapping of str to float
        Lengths by the part that they are of. [mm]

    Raises
    ------
    PivotwrightError
        Names the parts; or a rack is tilted of which both wheels or the mounts are not known.
    """
    case = vehicle.case
    there = linkage_parts(case)
    for parts, lacking in (
        (AT_LOWER_ARM, "lower ball joint"),
        (BRACKETS, "lateral link of an axle"),
        (OF_LEAVES, "leaf spring"),
    ):
        if any(part in fitted and part not in there for part in parts):
            raise no_such_part(lacking, case.layout)
    if fitted.get("rack_tilt") and (case.rack.mounts is None or not vehicle.both_wheels):
        raise no_tilt()


def listed(case: Case, name: str) -> tuple[float, ...]:
    """Lengths that a case lists of one part of the linkage; the first is what the car has. [mm]."""
    table, key = LISTED[name]
    lengths: tuple[float, ...] = getattr(getattr(case, table), key)
    return lengths


def with_lists(case: Case, lists: Mapping[str, Iterable[float]]) -> Case:
    """The case with these lengths to choose from, by the part of the linkage. [mm]."""
    changes: dict[str, dict[str, tuple[float, ...]]] = {}
    for name, lengths in lists.items():
        table, key = LISTED[name]
        changes.setdefault(table, {})[key] = tuple(dict.fromkeys(lengths))
    return case.model_copy(
        update={
            table: getattr(case, table).model_copy(update=change)
            for table, change in changes.items()
        }
    )


def with_linkage(case: Case, fitted: Mapping[str, float]) -> Case:
    """The case with these lengths fitted, by the part, and no others to choose from. [mm]."""
    return with_lists(case, {name: [length] for name, length in fitted.items()})


def also_listed(case: Case, fitted: Mapping[str, float]) -> Case:
    """The case with these lengths to choose from too, by the part. [mm]."""
    return with_lists(
        case, {name: [*listed(case, name), length] for name, length in fitted.items()}
    )
