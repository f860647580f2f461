"""Invented left corners whose uprights hang on links, in millimeters: x forward, y left, z up."""

from .corners import Array, corner_points
from .printed import published

LINK_CARS: dict[str, tuple[str, dict[str, Array]]] = {
    "five-link front, rod ahead": (
        "five-link",
        corner_points(published("corner_anchors")["five_link"]["points"]),
    ),
    "five-link rear, toe link behind": (
        "five-link",
        corner_points(
            {
                "link_1_inner": [285, 395, 225],
                "link_1_outer": [12, 705, 172],
                "link_2_inner": [-85, 310, 198],
                "link_2_outer": [-48, 722, 165],
                "link_3_inner": [120, 470, 432],
                "link_3_outer": [-6, 688, 452],
                "link_4_inner": [-140, 455, 420],
                "link_4_outer": [-40, 694, 441],
                "tie_rod_inner": [-195, 335, 246],
                "tie_rod_outer": [-158, 716, 238],
                "wheel_center": [-4, 772, 306],
            }
        ),
    ),
    "twin-link strut front, rod behind": (
        "twin-link-strut",
        corner_points(
            {
                "link_1_inner": [-20, 345, 192],
                "link_1_outer": [-26, 716, 171],
                "link_2_inner": [330, 410, 205],
                "link_2_outer": [38, 722, 178],
                "strut_top": [-30, 588, 846],
                "strut_axis": [-10, 640, 470],
                "tie_rod_inner": [-142, 348, 252],
                "tie_rod_outer": [-146, 694, 243],
                "wheel_center": [3, 758, 304],
            }
        ),
    ),
    "twin-link strut rear, lateral link and trailing rod": (
        "twin-link-strut",
        corner_points(
            {
                "link_1_inner": [58, 180, 236],
                "link_1_outer": [70, 690, 212],
                "link_2_inner": [610, 560, 265],
                "link_2_outer": [95, 668, 208],
                "strut_top": [-22, 560, 815],
                "strut_axis": [-4, 648, 430],
                "tie_rod_inner": [-104, 176, 240],
                "tie_rod_outer": [-112, 688, 216],
                "wheel_center": [0, 740, 298],
            }
        ),
    ),
}
FIVE_LINK = LINK_CARS["five-link front, rod ahead"][1]
TWIN_LINK_STRUT = LINK_CARS["twin-link strut front, rod behind"][1]
