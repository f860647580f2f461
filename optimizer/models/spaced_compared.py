"""Knuckle plate and crossmember spacer side by side: what each does and costs by itself."""

from optimizer.models.setting import Fitted


class SpacedPart(Fitted):
    """One plate or spacer with all else as it is, or the car as it is; at ride height, toe reset.

    `arm_angle_deg` is the lower arm's in the front view and `roll_center_height_mm` is above the
    ground, None where there is none.  What a part costs: tilt and gap that it leaves, None where
    none is stated, what the rod comes out longer by, and the bolts of `Effort`, as `work`.
    """

    arm_angle_deg: float | None
    roll_center_height_mm: float | None
    peak_toe_change_deg: float
    tilt_margin_deg: float | None
    clearance_mm: float | None
    tie_rod_length_change_mm: float
    work: float
    fits: bool
