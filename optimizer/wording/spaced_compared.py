"""Knuckle plate and crossmember spacer side by side, in words."""

from optimizer.models.suggest import SpacedPart
from optimizer.wording.reader import Reader

TITLE = "{wheel}Plate and spacer side by side, each with all else as it is"
NOTE = (
    "At ride height, toe reset; lower arm in the front view. What each costs: tilt and gap that it "
    "leaves, what it does to the rod, and its work against that of one shim; prices are not known."
)


def part_cells(part: SpacedPart, reader: Reader) -> dict[str, str]:
    """Cells of one row, by title; a figure that does not exist is left empty."""
    units = reader.subject.units
    arm, center = part.arm_angle_deg, part.roll_center_height_mm
    tilt, gap = part.tilt_margin_deg, part.clearance_mm
    return {
        f"plate\n{units}": reader.length(part.knuckle_plate_mm),
        f"spacer\n{units}": reader.length(part.crossmember_spacer_mm),
        "arm\ndeg": "" if arm is None else reader.angle(arm),
        reader.spelled(f"roll center\n{units}"): ""
        if center is None
        else reader.length(center, signed=True),
        f"peak\n{reader.short_toe_unit}": reader.toe(part.peak_toe_change_deg, signed=False),
        "tilt left\ndeg": "" if tilt is None else reader.angle(tilt, 1, signed=False),
        f"gap\n{units}": "" if gap is None else reader.length(gap),
        f"{reader.words.short_rod}\n{units}": reader.length(
            part.tie_rod_length_change_mm, signed=True
        ),
        "work": f"{part.work:g}",
        "limits": "kept" if part.fits else "broken",
    }
