"""What is fitted to a linkage, beside stack and rack."""

from optimizer.models.answer import Answer


class LinkageFitted(Answer):
    """What is fitted of the linkage itself: extension, brackets, plate, spacer and the like."""

    ball_joint_drop_mm: float = 0.0
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    knuckle_plate_mm: float = 0.0
    crossmember_spacer_mm: float = 0.0
    rack_tilt_mm: float = 0.0
    lift_block_mm: float = 0.0
    shackle_longer_mm: float = 0.0
