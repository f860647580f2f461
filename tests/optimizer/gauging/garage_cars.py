"""Kinds of cars that come to the garage: a layout's usual points, in millimeters."""

from dataclasses import dataclass

Points = dict[str, tuple[float, float, float]]


@dataclass(frozen=True)
class Kind:
    """A kind of car: the case's layout, its usual points, and how its lower arm is seen.

    `lower_arm` names the ends of the arm's chassis axis and its ball joint, or the two ends of the
    lowest link. [mm]
    """

    name: str
    layout: str
    points: Points
    tire_radius: float
    lower_arm: tuple[str, ...] = ("lower_arm_front", "lower_arm_rear", "lower_ball_joint")


STRUT: Points = {
    "lower_arm_front": (160.0, 365.0, 205.0),
    "lower_arm_rear": (-190.0, 350.0, 212.0),
    "lower_ball_joint": (0.0, 735.0, 190.0),
    "strut_top": (-38.0, 575.0, 830.0),
    "strut_axis": (-5.0, 640.0, 400.0),
    "tie_rod_inner": (-118.0, 330.0, 268.0),
    "tie_rod_outer": (-128.0, 700.0, 262.0),
    "wheel_center": (4.0, 770.0, 318.0),
}
WISHBONES: Points = {
    "lower_arm_front": (140.0, 390.0, 165.0),
    "lower_arm_rear": (-160.0, 410.0, 155.0),
    "lower_ball_joint": (5.0, 730.0, 150.0),
    "upper_arm_front": (110.0, 450.0, 420.0),
    "upper_arm_rear": (-130.0, 460.0, 410.0),
    "upper_ball_joint": (-15.0, 690.0, 440.0),
    "wheel_center": (0.0, 760.0, 290.0),
}
ARMS_BEHIND: Points = {
    "tie_rod_inner": (-118.0, 396.0, 196.0),
    "tie_rod_outer": (-130.0, 705.0, 205.0),
}
ARMS_AHEAD: Points = {
    "tie_rod_inner": (118.0, 396.0, 196.0),
    "tie_rod_outer": (130.0, 705.0, 205.0),
}
TWIN_LINKS: Points = {
    "link_1_inner": (-20.0, 345.0, 192.0),
    "link_1_outer": (-26.0, 716.0, 171.0),
    "link_2_inner": (330.0, 410.0, 205.0),
    "link_2_outer": (38.0, 722.0, 178.0),
    "strut_top": (-30.0, 588.0, 846.0),
    "strut_axis": (-10.0, 640.0, 470.0),
    "tie_rod_inner": (-142.0, 348.0, 252.0),
    "tie_rod_outer": (-146.0, 694.0, 243.0),
    "wheel_center": (3.0, 758.0, 304.0),
}
FIVE_LINKS: Points = {
    "link_1_inner": (285.0, 395.0, 225.0),
    "link_1_outer": (12.0, 705.0, 172.0),
    "link_2_inner": (-85.0, 310.0, 198.0),
    "link_2_outer": (-48.0, 722.0, 165.0),
    "link_3_inner": (120.0, 470.0, 432.0),
    "link_3_outer": (-6.0, 688.0, 452.0),
    "link_4_inner": (-140.0, 455.0, 420.0),
    "link_4_outer": (-40.0, 694.0, 441.0),
    "tie_rod_inner": (-195.0, 335.0, 246.0),
    "tie_rod_outer": (-158.0, 716.0, 238.0),
    "wheel_center": (-4.0, 772.0, 306.0),
}

KINDS = [
    Kind("strut", "strut", STRUT, 318.0),
    Kind("wishbones, arms behind", "double-wishbone", WISHBONES | ARMS_BEHIND, 290.0),
    Kind("wishbones, arms ahead", "double-wishbone", WISHBONES | ARMS_AHEAD, 290.0),
    Kind("twin-link strut", "twin-link-strut", TWIN_LINKS, 304.0, ("link_1_inner", "link_1_outer")),
    Kind("five-link, toe link", "five-link", FIVE_LINKS, 306.0, ("link_2_inner", "link_2_outer")),
]
