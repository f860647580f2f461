"""Tilts and gaps of settings: every kind of obstacle where it really is, and what is said of it."""

import copy
import tomllib
from pathlib import Path

import numpy as np
import pytest

from geometry.clearance import Capsule, capsule_gap, plane_gap
from geometry.rim import rim_gap
from geometry.vectors import norm, turned, unit
from optimizer.answers.check import check
from optimizer.answers.curve import curve
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.files.case_file import read_case
from optimizer.limits.gaps import gaps
from optimizer.limits.margins import margins
from optimizer.limits.stops import smallest, stops, tightest
from optimizer.limits.surroundings import Surroundings
from optimizer.limits.tilts import joint_tilts, tilt_limit_deg
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.limits import TiltLimit
from optimizer.models.vehicle import Vehicle
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

CASES = Path(__file__).parents[2] / "cases"
STRUT = tomllib.loads((CASES / "lowered-strut.toml").read_text(encoding="utf-8"))
BALL = {"ball_width": 21.0, "race_width": 15.0, "ball_diameter": 28.575}
SPACERS = {"neck_diameter": 17.0, "width_over_spacers": 36.0, "shoulder_diameter": 24.0}

TUBE = {
    "kind": "tube",
    "name": "bracket",
    "start": [-100.0, 560.0, 200.0],
    "end": [-100.0, 600.0, 214.0],
    "diameter": 8.0,
}
LINK = {
    "kind": "link",
    "fixed_to": "upright",
    "start": [-62.0, 655.0, 470.0],
    "end": [-66.0, 668.0, 196.0],
    "bar_axis": [[95.0, 300.0, 205.0], [95.0, 420.0, 205.0]],
    "diameter": 14.0,
}
PLANE = {"kind": "plane", "point": [0.0, 400.0, 350.0], "free_side": [0.0, 0.2, -1.0]}


def strut(*obstacles, **tables):
    """The lowered strut car with other obstacles, and keys of its tables replaced."""
    table = copy.deepcopy(STRUT) | {"obstacles": list(obstacles)}
    for name, keys in tables.items():
        table[name] = table.get(name, {}) | keys
    return Case.model_validate(table)


class Posed:
    """Settings of a case at a few places of travel x lock, and the parts around the rod there."""

    def __init__(self, case, drops=(0.0, 7.5)):
        self.case, self.evaluator = case, Evaluator.of(case)
        count = len(drops)
        self.settings = Settings(
            np.array(drops), np.full(count, 3.0), np.zeros(count, dtype=np.intp)
        )
        self.rack = np.array([-60.0, 0.0, 0.0, 25.0, 60.0])
        self.travel = np.array([-55.0, -40.0, 0.0, 50.0, 45.0])
        self.motion = self.evaluator.motion(self.settings, self.travel, self.rack)
        self.corner = self.evaluator.corner
        self.around = Surroundings(self.corner, np.ones(3), self.settings.linkage, self.motion)

    @property
    def rod(self):
        outer, inner = self.corner.pivots(self.settings)
        moved = inner[:, None] + self.rack[:, None] * self.corner.rack_axis
        radius = self.case.joint.rod_diameter / 2.0
        return Capsule(moved, self.motion.moved(outer[:, None]), radius)

    def gap(self, part="rod"):
        found = list(gaps(self.evaluator, self.settings, self.motion, self.rack))
        return next(one.value() for one in found if one.name.startswith(f"{part} to "))


# --- tilt limits ---------------------------------------------------------------------------------


def limit_of(**sizes):
    return tilt_limit_deg(TiltLimit(**sizes))


def test_a_joint_without_sizes_has_no_tilt_limit():
    assert limit_of() is None


def test_a_maker_s_figure_is_the_limit():
    assert limit_of(tilt_limit_deg=18.0) == 18.0


def test_a_plain_rod_end_binds_at_the_tilt_of_its_table():
    # ISO 12240-4 series K, size 16: 15 deg, rounded down (dimensions from memory).
    assert int(limit_of(**BALL)) == 15


def test_a_washer_wider_than_the_flat_costs_tilt_and_a_wide_head_costs_more():
    plain = limit_of(**BALL)
    washer = limit_of(**BALL, shoulder_diameter=28.0)
    head = limit_of(**BALL, shoulder_diameter=28.0, head_width=17.0)
    assert head < washer < plain
    # By hand: the washer's corner (14, 10.5) comes down to half the race's width, 7.5.
    corner = np.hypot(14.0, 10.5)
    by_hand = np.degrees(np.arcsin(10.5 / corner) - np.arcsin(7.5 / corner))
    assert washer == pytest.approx(by_hand, abs=ANGLE_ATOL_DEG)


def test_coned_spacers_win_tilt_up_to_that_of_a_bare_neck():
    plain, neck = limit_of(**BALL), limit_of(**BALL, neck_diameter=17.0)
    assert plain < limit_of(**BALL, **SPACERS) < neck


def test_spacers_with_a_shoulder_far_out_bind_at_the_race_s_edge_first():
    # The flank from (8.5, 10.5) to (12, 18) meets the ball's circle, where the race's edge runs.
    share = np.linspace(0.0, 1.0, 2_000_001)
    across, height = 8.5 + 3.5 * share, 10.5 + 7.5 * share
    out = np.argmax(np.hypot(across, height) > 28.575 / 2.0)
    edge = np.degrees(np.arctan2(7.5, np.sqrt((28.575 / 2.0) ** 2 - 7.5**2)))
    by_hand = np.degrees(np.arctan2(height[out], across[out])) - edge
    # 1e-4: the flank is walked in steps of a two-millionth.
    assert limit_of(**BALL, **SPACERS) == pytest.approx(by_hand, abs=1e-4)


def test_short_spacers_under_a_wide_washer_bind_at_the_side_of_the_housing_first():
    short = SPACERS | {"width_over_spacers": 24.0, "shoulder_diameter": 40.0}
    corner = np.hypot(20.0, 12.0)
    by_hand = np.degrees(np.arcsin(12.0 / corner) - np.arcsin(8.5 / corner))
    assert limit_of(**BALL, **short, head_width=17.0) == pytest.approx(by_hand, abs=ANGLE_ATOL_DEG)


# --- tilts ---------------------------------------------------------------------------------------


def test_an_inner_rod_end_tilts_from_square_to_its_bolt():
    bolt = [0.3, 0.1, 1.0]
    posed = Posed(strut(joint={"inner": {"tilt_limit_deg": 14.0, "bolt_axis": bolt}}))
    _, inner = joint_tilts(posed.evaluator, posed.settings, posed.motion, posed.rack)
    direction = unit(posed.rod.end - posed.rod.start)
    by_hand = np.arcsin(np.abs(direction @ unit(np.array(bolt))))
    assert np.degrees(inner) == pytest.approx(np.degrees(by_hand), abs=ANGLE_ATOL_DEG)


def test_an_inner_ball_joint_tilts_from_the_line_of_the_rack():
    posed = Posed(strut())
    _, inner = joint_tilts(posed.evaluator, posed.settings, posed.motion, posed.rack)
    direction = unit(posed.rod.end - posed.rod.start)
    by_hand = np.arccos(np.abs(direction[..., 1]))
    # 1e-6: an arccos near 1 is no better than that.
    assert np.degrees(inner) == pytest.approx(np.degrees(by_hand), abs=1e-6)


@pytest.mark.parametrize("rod_turns", [True, False])
def test_the_curve_shows_the_tilts_that_the_limits_are_checked_by(rod_turns):
    bolt = {"bolt_axis": [0.0, 0.0, 1.0]}
    case = strut(joint={"rod_turns": rod_turns, "inner": bolt | {"tilt_limit_deg": 20.0}})
    found = margins(Evaluator.of(case), Settings.single())
    for worst in (margin for margin in found if margin.kind == "tilt"):
        request = CurveRequest(rack_travel=worst.rack_travel[0], step=5.0)
        (shown,) = curve(Vehicle((case,)), request).wheels
        tilts = {"outer joint": shown.outer_tilt_deg, "inner joint": shown.inner_tilt_deg}
        there = shown.travel_mm.index(worst.travel[0])
        assert tilts[worst.name][there] == pytest.approx(worst.value[0], abs=1e-7)  # two solves


def test_a_rod_that_can_t_turn_tilts_its_joints_more_at_lock():
    free, held = (
        Posed(strut(joint={"rod_turns": turns, "inner": {"bolt_axis": [0.0, 0.0, 1.0]}}))
        for turns in (True, False)
    )
    tilts = [joint_tilts(p.evaluator, p.settings, p.motion, p.rack) for p in (free, held)]
    for loose, stiff in zip(*tilts, strict=True):
        assert (stiff >= loose - ANGLE_ATOL_DEG).all()
        assert stiff[0, 2] == pytest.approx(loose[0, 2], abs=ANGLE_ATOL_DEG)  # set there
    assert np.degrees(tilts[1][0] - tilts[0][0]).max() > 1.0


# --- obstacles -----------------------------------------------------------------------------------


def test_a_tube_on_the_lower_arm_keeps_its_distances_to_the_arm_s_three_points():
    posed = Posed(strut(TUBE | {"fixed_to": "lower-arm"}, lower_ball_joint={"drop": [20.0]}))
    points = posed.corner.points
    measured = np.array(TUBE["start"])
    now = posed.around.place(tuple(TUBE["start"]), "lower-arm")
    for name in ("lower_arm_front", "lower_arm_rear"):
        assert norm(now - points[name]) == pytest.approx(
            norm(measured - points[name]) * np.ones(now.shape[:2]), abs=LENGTH_ATOL_MM
        )
    ball_joint = posed.around.ball_joint()
    assert norm(now - ball_joint) == pytest.approx(
        norm(measured - points["lower_ball_joint"]) * np.ones(now.shape[:2]), abs=LENGTH_ATOL_MM
    )
    assert np.ptp(now[..., 2], axis=1).min() > 30.0  # it does move


def test_a_tube_moves_with_what_it_is_fixed_to():
    found = {
        carrier: Posed(strut(TUBE | {"fixed_to": carrier})).gap()
        for carrier in ("chassis", "upright", "lower-arm")
    }
    posed = Posed(strut())
    ends = np.array(TUBE["start"]), np.array(TUBE["end"])
    on_chassis = capsule_gap(posed.rod, Capsule(*ends, 4.0))
    on_upright = capsule_gap(posed.rod, Capsule(*(posed.motion.moved(end) for end in ends), 4.0))
    assert found["chassis"] == pytest.approx(on_chassis, abs=LENGTH_ATOL_MM)
    assert found["upright"] == pytest.approx(on_upright, abs=LENGTH_ATOL_MM)
    assert np.abs(found["lower-arm"] - on_chassis).max() > 5.0
    assert np.abs(found["lower-arm"] - on_upright).max() > 5.0


@pytest.mark.parametrize("carrier", ["upright", "lower-arm"])
def test_a_drop_link_keeps_its_length_and_the_bar_s_end_its_circle(carrier):
    posed = Posed(strut(LINK | {"fixed_to": carrier}))
    link = posed.case.obstacles[0]
    start, end = posed.around.place(link.start, carrier), posed.around.bar_end(link)
    length = norm(np.array(LINK["start"]) - np.array(LINK["end"]))
    assert norm(start - end) == pytest.approx(length * np.ones((2, 5)), abs=LENGTH_ATOL_MM)
    for point in np.array(LINK["bar_axis"]):
        radius = norm(point - np.array(LINK["end"]))
        assert norm(end - point) == pytest.approx(radius * np.ones((2, 5)), abs=LENGTH_ATOL_MM)
    expected = capsule_gap(posed.rod, Capsule(start, end, 7.0))
    assert posed.gap() == pytest.approx(expected, abs=LENGTH_ATOL_MM)


def test_the_bar_s_end_is_where_it_was_measured_while_the_car_stands_as_measured():
    case = strut(LINK, ride={"lowered_by": 0.0})
    evaluator = Evaluator.of(case)
    motion = evaluator.motion(Settings.single(), np.zeros(1), np.zeros(1))
    end = Surroundings(evaluator.corner, np.ones(3), np.zeros(1, dtype=np.intp), motion).bar_end(
        case.obstacles[0]
    )
    assert end[0, 0] == pytest.approx(np.array(LINK["end"]), abs=LENGTH_ATOL_MM)


def test_a_drop_link_that_can_t_follow_refuses_the_setting_by_name():
    # A bar's arm so short that the strut's movement pulls the link straight.
    short = LINK | {"bar_axis": [[-46.0, 300.0, 196.0], [-46.0, 420.0, 196.0]]}
    case = strut(short)
    found = margins(Evaluator.of(case), Settings.single())
    (stop,) = stops(found, 0, "left")
    assert (stop.kind, stop.name) == ("reach", "anti-roll bar link")


def test_a_plane_stays_with_the_chassis_and_is_solid_behind():
    posed = Posed(strut(PLANE))
    expected = plane_gap(posed.rod, np.array(PLANE["point"]), np.array(PLANE["free_side"]))
    assert posed.gap() == pytest.approx(expected, abs=LENGTH_ATOL_MM)


def test_a_barrel_is_taken_as_narrow_as_the_narrower_of_two_depths():
    depths, diameters = [0.0, 30.0, 140.0], [410.0, 404.0, 396.0]
    barrel = [
        {"depth": depth, "inside_diameter": diameter}
        for depth, diameter in zip(depths, diameters, strict=True)
    ]
    posed = Posed(strut({"kind": "rim", "inboard": -105.0, "barrel": barrel}))
    center = posed.motion.moved(posed.corner.points["wheel_center"])
    axis = turned(posed.motion.rotation, posed.corner.spin)
    by_section = [
        rim_gap(posed.rod, center, axis, inside_diameter=d, inboard=a - 105.0, outboard=b - 105.0)
        for a, b, d in ((0.0, 30.0, 404.0), (30.0, 140.0, 396.0))
    ]
    assert posed.gap() == pytest.approx(np.minimum(*by_section), abs=LENGTH_ATOL_MM)


def mirrored(obstacle):
    """The same obstacle on the other side of the car."""

    def turned_over(value):
        if isinstance(value, list) and len(value) == 3 and isinstance(value[0], float):
            return [value[0], -value[1], value[2]]
        return [turned_over(item) for item in value] if isinstance(value, list) else value

    return {key: turned_over(value) for key, value in obstacle.items()}


def test_the_right_side_of_the_car_has_the_gaps_of_the_left():
    parts = [TUBE | {"fixed_to": "lower-arm"}, LINK, PLANE]
    left = strut(*parts, joint={"inner": {"tilt_limit_deg": 25.0, "bolt_axis": [0.0, 0.2, 1.0]}})
    table = copy.deepcopy(STRUT) | {"obstacles": [mirrored(part) for part in parts]}
    table["points"] = mirrored(table["points"])
    table["joint"] = table["joint"] | {
        "inner": {"tilt_limit_deg": 25.0, "bolt_axis": [0.0, -0.2, 1.0]}
    }
    right = Case.model_validate(table)
    there, here = (margins(Evaluator.of(case), Settings.single(7.0)) for case in (right, left))
    for one, other in zip(there, here, strict=True):
        assert one.name == other.name
        assert one.value == pytest.approx(other.value, abs=1e-7)  # mm and deg: two solves


# --- what is said --------------------------------------------------------------------------------


def test_the_tightest_joint_and_gap_are_those_of_the_smallest_figures():
    case = read_case(CASES / "track-wishbone.toml")
    settings = Settings(np.array([0.0, 7.5]), np.array([0.0, 4.0]), np.zeros(2, dtype=np.intp))
    found = margins(Evaluator.of(case), settings, follow="smallest")
    for row in (0, 1):
        joint, gap = (tightest(found, kind, row, "left") for kind in ("tilt", "gap"))
        assert joint.limit - joint.value == smallest(found, "tilt", row)
        assert gap.value == smallest(found, "gap", row)
        at = next(m for m in found if m.name == gap.name)
        assert (gap.travel_mm, gap.rack_travel_mm) == (at.travel[row], at.rack_travel[row])


def test_the_tightest_gap_is_where_a_finer_look_finds_it_too():
    """The place that is named, against every millimeter of travel at the same locks."""
    case = read_case(CASES / "track-wishbone.toml")
    evaluator = Evaluator.of(case)
    settings = Settings.single(7.5, 4.0)
    named = tightest(margins(evaluator, settings, follow="smallest"), "gap", 0, "left")
    travel = np.tile(np.linspace(-40.0, 40.0, 81), 5)
    rack = np.repeat(np.linspace(-55.0, 55.0, 5), 81)
    motion = evaluator.motion(settings, travel, rack)
    values = {one.name: one.value()[0] for one in gaps(evaluator, settings, motion, rack)}
    name = min(values, key=lambda key: values[key].min())
    at = values[name].argmin()
    assert named.name == name
    assert named.rack_travel_mm == rack[at]
    # Heights are checked every 6.7 mm of this travel.
    assert named.travel_mm == pytest.approx(travel[at], abs=6.7)


def test_an_overlap_is_called_one():
    case = strut(TUBE | {"fixed_to": "chassis", "diameter": 120.0})
    found = margins(Evaluator.of(case), Settings.single())
    named = tightest(found, "gap", 0, "left")
    assert named.name == "rod to bracket"
    assert named.value < 0.0


def test_nothing_is_tightest_where_nothing_is_limited():
    case = strut(joint={"outer": {}, "inner": {}})
    found = margins(Evaluator.of(case), Settings.single())
    assert tightest(found, "tilt", 0, "left") is None
    assert tightest(found, "gap", 0, "left") is None
    assert smallest(found, "gap", 0) is None


def test_every_ranked_setting_names_its_tightest_joint_and_gap():
    case = read_case(CASES / "extended-strut.toml")
    answer = suggest(Vehicle((case,)))
    names = {f"{part} to {x.name}" for x in case.obstacles for part in ("rod", "outer joint")}
    for option in (*answer.ranked, answer.as_is):
        (wheel,) = option.wheels
        assert wheel.tightest_joint.name in ("outer joint", "inner joint")
        assert wheel.tightest_gap.name in names
        assert wheel.tightest_gap.value == wheel.clearance_mm


# --- doubts --------------------------------------------------------------------------------------

RIM = {"kind": "rim", "inboard": -105.0, "outboard": 40.0}


def doubts(*obstacles):
    vehicle = Vehicle((strut(*obstacles),))
    reader = Reader(subject_of(vehicle))
    return {
        doubt.location: sentence(doubt.message, reader)
        for doubt in check(vehicle).wheels[0].doubts
        if doubt.location.startswith("obstacles")
    }


def test_a_measured_barrel_raises_no_doubt():
    assert doubts(RIM | {"inside_diameter": 402.0, "nominal_diameter": 17}) == {}


def test_an_inside_diameter_of_whole_inches_looks_nominal():
    assert "exactly 17 in" in doubts(RIM | {"inside_diameter": 431.8})["obstacles[1]"]


def test_an_inside_diameter_beyond_the_nominal_one_is_doubted():
    found = doubts(RIM | {"inside_diameter": 420.0, "nominal_diameter": 16})
    assert "no less than its nominal 16 in" in found["obstacles[1]"]


def test_a_plane_that_is_turned_round_is_doubted():
    found = doubts(PLANE | {"free_side": [0.0, 0.0, 1.0]})
    assert "frame rail overlaps by" in found["obstacles"]
    assert "which side is free" in found["obstacles"]
    assert doubts(PLANE) == {}
