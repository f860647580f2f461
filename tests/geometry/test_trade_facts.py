"""What the trade says about bump steer, against exact motion.

Common practice, no source: every fact here is what a technician is taught at the gauge.  Where the
trade's rule is a rule of thumb, the tolerance says how far it carries and why.
"""

import numpy as np
import pytest

from geometry.linkages import DoubleWishbone, Linkage, Strut
from geometry.motion import Rod, rod_motion, toe_held_motion
from geometry.pivot_fit import fitted_inner
from geometry.toe_curve import ToeCurve, toe_curve
from geometry.toe_held import toe_held_poses
from geometry.wheel_angles import toe_angle
from optimizer.car.diagnosis import height_cure, length_cure
from optimizer.models.vocabulary import RACK
from optimizer.wording.cures import cure_in_words

from .corners import Array, corner_points, linkage_of
from .printed import published

ANGLE_ATOL_DEG = 1e-9
# A slope is read off a polynomial through the toe curve over ±60 mm: a curve that is level at ride
# height but bends elsewhere leaves this much.
SLOPE_ATOL_DEG_PER_10MM = 1e-6

X, Y, Z = np.eye(3)
SQUARE_WHEEL = Y
TRAVEL = np.linspace(-60.0, 60.0, 25)
HOME = 12


def toe_changes(linkage: Linkage, outer: Array, inner: Array, lowered_by: float = 0.0) -> Array:
    """Toe at each travel, the rod set to no toe at ride height, (25,). [rad]"""
    home = toe_held_motion(linkage, np.array(lowered_by), SQUARE_WHEEL, np.zeros(()))
    rod = Rod(inner, outer, np.linalg.norm(home.moved(outer) - inner))
    motion = rod_motion(linkage, TRAVEL + lowered_by, rod)
    return toe_angle(motion.rotation @ SQUARE_WHEEL)


def figures(linkage: Linkage, outer: Array, inner: Array, lowered_by: float = 0.0) -> ToeCurve:
    return toe_curve(TRAVEL, toe_changes(linkage, outer, inner, lowered_by))


def slope_deg_per_10mm(linkage, outer, inner, lowered_by=0.0):
    return 10.0 * np.degrees(figures(linkage, outer, inner, lowered_by).slope)


# ---- the tie rod and the arms ----

LEVEL = {"joint": np.array([0.0, 720.0, 160.0]), "on_axis": np.array([0.0, 395.0, 160.0])}
SLOPING = {"joint": np.array([5.0, 730.0, 150.0]), "on_axis": np.array([0.0, 395.0, 185.0])}


def parallel_arms(joint: Array, on_axis: Array) -> DoubleWishbone:
    """Equal parallel arms: the upright only shifts, along the circle of the lower ball joint."""
    front, rear, upper_by = (
        on_axis + 150.0 * X,
        on_axis - 150.0 * X,
        np.array([-30.0, -25.0, 270.0]),
    )
    center = np.array([0.0, 760.0, 300.0])
    return DoubleWishbone(
        front, rear, joint, front + upper_by, rear + upper_by, joint + upper_by, wheel_center=center
    )


@pytest.mark.parametrize("lowered_by", [0.0, 40.0])
@pytest.mark.parametrize("ahead", [-130.0, 120.0], ids=["arms behind", "arms ahead"])
@pytest.mark.parametrize("arms", [LEVEL, SLOPING], ids=["level arms", "sloping arms"])
def test_toe_does_not_change_when_the_rod_is_an_equal_parallel_copy_of_the_arms(
    arms, ahead, lowered_by
):
    outer = arms["joint"] + np.array([ahead, -20.0, 60.0])
    inner = outer - (arms["joint"] - arms["on_axis"])
    toe = toe_changes(parallel_arms(**arms), outer, inner, lowered_by)
    np.testing.assert_allclose(np.degrees(toe), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)


# A strut car in which all that matters lies in the front view: the arm's pivots along x, ball
# joint and strut in one y-z plane, and the outer pivot straight behind the ball joint.
PLANAR_JOINT, PLANAR_ARM_PIVOT = np.array([0.0, 720.0, 190.0]), np.array([0.0, 360.0, 185.0])
PLANAR_STRUT = Strut(
    lower_arm_front=PLANAR_ARM_PIVOT + 150.0 * X,
    lower_arm_rear=PLANAR_ARM_PIVOT - 150.0 * X,
    lower_ball_joint=PLANAR_JOINT,
    strut_top=np.array([0.0, 590.0, 840.0]),
    strut_axis=np.array([0.0, 640.0, 410.0]),
    wheel_center=np.array([0.0, 765.0, 310.0]),
)
PLANAR_OUTER = PLANAR_JOINT - 130.0 * X
ARM = PLANAR_JOINT - PLANAR_ARM_PIVOT


def parallel_inner(rod_length):
    """Inner pivot of a rod that lies parallel to the lower arm as measured."""
    return PLANAR_OUTER - rod_length * ARM / np.linalg.norm(ARM)


def front_view_angle(vector):
    """Angle to the ground, positive where the outboard end is higher. [rad]"""
    return np.arctan2(vector[2], vector[1])


def front_view_angles(outer, inner, lowered_by):
    """Front-view angles of rod and lower arm at ride height. [rad]"""
    height = np.array(lowered_by)
    home = toe_held_motion(PLANAR_STRUT, height, SQUARE_WHEEL, np.zeros(()))
    rod, arm = home.moved(outer) - inner, home.moved(PLANAR_JOINT) - PLANAR_ARM_PIVOT
    return front_view_angle(rod), front_view_angle(arm)


@pytest.mark.parametrize("lowered_by", [0.0, 40.0])
def test_a_strut_car_holds_its_toe_on_a_rod_that_copies_the_lower_arm_though_camber_changes(
    lowered_by,
):
    toe = toe_changes(PLANAR_STRUT, PLANAR_OUTER, PLANAR_OUTER - ARM, lowered_by)
    np.testing.assert_allclose(np.degrees(toe), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)


@pytest.mark.parametrize("rod_length", [300.0, 360.0, 420.0])
@pytest.mark.parametrize("way", [+1.0, -1.0], ids=["rack too high", "rack too low"])
def test_the_closer_the_rod_to_parallel_with_the_lower_arm_the_smaller_the_slope(way, rod_length):
    off = np.array([25.0, 16.0, 9.0, 4.0, 1.0, 0.0])
    slope = np.array(
        [
            slope_deg_per_10mm(PLANAR_STRUT, PLANAR_OUTER, parallel_inner(rod_length) + way * h * Z)
            for h in off
        ]
    )
    assert (np.diff(way * slope) < 0.0).all()  # arms behind: a high rack toes in, a low one out
    assert abs(slope[-1]) < SLOPE_ATOL_DEG_PER_10MM


@pytest.mark.parametrize("rod_length", [260.0, 300.0, 340.0])
def test_lowering_a_car_steepens_a_short_rod_more_than_the_arm_and_it_toes_out_in_bump(rod_length):
    inner, heights = parallel_inner(rod_length), [0.0, 15.0, 30.0, 45.0, 60.0]
    rod, arm = np.array([front_view_angles(PLANAR_OUTER, inner, h) for h in heights]).T
    assert (np.diff(rod) > 0.0).all()
    assert (np.diff(rod - arm) > 0.0).all()
    slope = [slope_deg_per_10mm(PLANAR_STRUT, PLANAR_OUTER, inner, h) for h in heights]
    assert (np.diff(slope) < 0.0).all()


@pytest.mark.parametrize("lowered_by", [20.0, 40.0, 60.0])
@pytest.mark.parametrize("rod_length", [260.0, 300.0, 340.0])
def test_lowering_the_outer_pivot_until_the_rod_is_parallel_again_restores_a_lowered_car(
    rod_length, lowered_by
):
    inner = parallel_inner(rod_length)
    rod, arm = front_view_angles(PLANAR_OUTER, inner, lowered_by)
    drop = rod_length * (np.sin(rod) - np.sin(arm))
    before = slope_deg_per_10mm(PLANAR_STRUT, PLANAR_OUTER, inner, lowered_by)
    after = slope_deg_per_10mm(PLANAR_STRUT, PLANAR_OUTER - drop * Z, inner, lowered_by)
    assert drop > 0.0
    # Not to nothing: the dropped pivot is no longer at the ball joint's height, so "parallel" is
    # a rule of thumb from here on.
    assert abs(after) < 0.1 * abs(before)


# ---- the direction map ----

ANCHORS = published("corner_anchors")
LAYOUTS = ["strut", "double_wishbone"]
STEERING_ARM = 135.0  # of a car with its arms ahead; those behind are as the corner has them
SPOILED_HEIGHT, SPOILED_LENGTH = 8.0, 30.0  # how far a pivot is moved from its best place [mm]
CURE = 4.0  # how far the cure then moves a pivot [mm]

# Which pivot moves which way, by the words that the diagnosis uses.
MOVES = {
    "lower the outer pivot": (-Z, 0.0 * Z),
    "raise the outer pivot": (+Z, 0.0 * Z),
    "raise the rack": (0.0 * Z, +Z),
    "lower the rack": (0.0 * Z, -Z),
    "the outer pivot outboard": (+Y, 0.0 * Y),
    "the outer pivot inboard": (-Y, 0.0 * Y),
    "the inner pivot inboard": (0.0 * Y, -Y),
    "the inner pivot outboard": (0.0 * Y, +Y),
}


def moves_named(cure: str) -> list[tuple[Array, Array]]:
    """Unit moves of outer and inner pivot, one for each that a cure offers."""
    return [move for words, move in MOVES.items() if words in cure]


def well_behaved_car(name: str, arms: str) -> tuple[Linkage, Array, Array]:
    """A linkage with the outer pivot of its corner and the inner pivot that suits it best."""
    points = corner_points(ANCHORS[name]["points"])
    linkage = linkage_of(ANCHORS[name]["layout"], points)
    outer, inner = points["tie_rod_outer"], points["tie_rod_inner"]
    if arms == "ahead":
        ahead = points["lower_ball_joint"][0] + STEERING_ARM
        outer, inner = outer + (ahead - outer[0]) * X, inner + (ahead - inner[0]) * X
    poses = toe_held_poses(linkage, TRAVEL, SQUARE_WHEEL, np.zeros(TRAVEL.shape), HOME)
    return linkage, outer, fitted_inner(poses, outer, inner, np.stack([Y, Z])).point


@pytest.mark.parametrize("arms", ["behind", "ahead"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_the_car_that_the_map_starts_from_behaves_well(name, arms):
    peak = figures(*well_behaved_car(name, arms)).peak
    assert np.degrees(peak) < 0.02  # a spoiled one shows at least five times as much


LOWER_OUTER = "lower the outer pivot or raise the rack"
RAISE_OUTER = "raise the outer pivot or lower the rack"


@pytest.mark.parametrize("spoiled", [0, 1], ids=["outer pivot spoiled", "rack spoiled"])
@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize(
    ("in_bump", "arms", "cure"),
    [
        ("toe-out", "behind", LOWER_OUTER),
        ("toe-out", "ahead", RAISE_OUTER),
        ("toe-in", "behind", RAISE_OUTER),
        ("toe-in", "ahead", LOWER_OUTER),
    ],
)
def test_a_height_error_makes_the_slope_of_the_map_and_either_move_of_its_cure_shrinks_it(
    in_bump, arms, cure, name, spoiled
):
    linkage, best_outer, best_inner = well_behaved_car(name, arms)
    moves = moves_named(cure)
    outer = best_outer - SPOILED_HEIGHT * moves[spoiled][0]
    inner = best_inner - SPOILED_HEIGHT * moves[spoiled][1]
    sign = +1.0 if in_bump == "toe-in" else -1.0
    toe = sign * toe_changes(linkage, outer, inner)
    assert toe[-1] > 0.0 > toe[0]
    slope = figures(linkage, outer, inner).slope
    assert cure_in_words(height_cure(slope, arms_ahead=arms == "ahead"), RACK) == cure
    assert len(moves) == 2
    for outer_move, inner_move in moves:
        cured = figures(linkage, outer + CURE * outer_move, inner + CURE * inner_move).slope
        assert 0.0 < sign * cured < 0.8 * sign * slope


@pytest.mark.parametrize("spoiled", ["outer", "inner"])
@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize(
    ("both_ways", "arms", "rod_is"),
    [
        ("toe-out", "behind", "too short"),
        ("toe-out", "ahead", "too long"),
        ("toe-in", "behind", "too long"),
        ("toe-in", "ahead", "too short"),
    ],
)
def test_a_length_error_makes_the_curvature_of_the_map_and_either_move_of_its_cure_shrinks_it(
    both_ways, arms, rod_is, name, spoiled
):
    linkage, best_outer, best_inner = well_behaved_car(name, arms)
    # Along the rod, so that its height stays right.
    longer = (best_outer - best_inner) / np.linalg.norm(best_outer - best_inner)
    longer *= SPOILED_LENGTH if rod_is == "too long" else -SPOILED_LENGTH
    outer = best_outer + (longer if spoiled == "outer" else 0.0)
    inner = best_inner - (longer if spoiled == "inner" else 0.0)
    sign = +1.0 if both_ways == "toe-in" else -1.0
    toe = sign * toe_changes(linkage, outer, inner)
    assert min(toe[0], toe[-1]) > 0.0
    curvature = figures(linkage, outer, inner).curvature
    cure = cure_in_words(length_cure(curvature, arms_ahead=arms == "ahead"), RACK)
    assert cure.startswith(f"the tie rod is {rod_is}: ")
    moves = moves_named(cure)
    assert len(moves) == 2
    for outer_move, inner_move in moves:
        cured = figures(linkage, outer + CURE * outer_move, inner + CURE * inner_move).curvature
        assert 0.0 < sign * cured < sign * curvature


@pytest.mark.parametrize("arms", ["behind", "ahead"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_shims_do_not_cure_a_length_error(name, arms):
    linkage, outer, best_inner = well_behaved_car(name, arms)
    inner = best_inner + SPOILED_LENGTH * (outer - best_inner) / np.linalg.norm(outer - best_inner)
    spoiled = figures(linkage, outer, inner).curvature
    drops = np.linspace(-10.0, 10.0, 5)
    curvature = [figures(linkage, outer - drop * Z, inner).curvature for drop in drops]
    assert np.min(np.abs(curvature)) > 2.0 / 3.0 * abs(spoiled)


# ---- what a shim is worth ----


def test_a_shim_is_worth_its_height_over_rod_length_times_steering_arm_where_nothing_leans():
    """Level equal parallel arms: wheel and rod end rise alike, and the stud stays upright."""
    joint = LEVEL["joint"]
    steering_arm, rod_length, height = 130.0, 325.0, 0.1
    upright = parallel_arms(**LEVEL)
    foot = joint + 60.0 / 270.0 * np.array([-30.0, -25.0, 270.0])  # steering axis at rod height
    outer = foot - steering_arm * X
    slope = figures(upright, outer - height * Z, outer - rod_length * Y).slope
    # The shim itself tilts the rod and lengthens the arm it acts on: parts in ten thousand.
    assert slope == pytest.approx(height / (rod_length * steering_arm), rel=1e-3)


@pytest.mark.parametrize("moved", ["outer pivot shimmed down", "rack shimmed up"])
@pytest.mark.parametrize("arms", ["behind", "ahead"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_a_shim_is_worth_about_its_height_over_rod_length_times_steering_arm(name, arms, moved):
    linkage, outer, inner = well_behaved_car(name, arms)
    shim = 2.0
    if moved == "rack shimmed up":
        after = figures(linkage, outer, inner + shim * Z).slope
    else:
        after = figures(linkage, outer - shim * Z, inner).slope
    change = after - figures(linkage, outer, inner).slope
    axis = linkage.steering_axis(np.zeros(()))
    share = (outer[2] - axis.lower[2]) / (axis.upper - axis.lower)[2]
    steering_arm = axis.lower[0] + share * (axis.upper - axis.lower)[0] - outer[0]  # + behind
    worth = shim / (np.linalg.norm(outer - inner) * steering_arm)
    # The rule knows the front view only: on a real car the rod's end rises a little more or less
    # than the wheel, the upright leans as it rises, and the axis about which it steers leans too.
    assert change == pytest.approx(worth, rel=0.2)
