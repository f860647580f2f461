"""What a setting changes beside the toe curve: against `curve` and mirrored cars."""

import copy
import tomllib
from pathlib import Path

import numpy as np
import pytest

from geometry.side_effects import ackermann_angle
from optimizer.answers.side_effects import side_effects
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings, joined_settings
from optimizer.files.case_file import read_case
from optimizer.models.base import faults_in
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.side_effects import DEFINITIONS
from tests.optimizer.one_wheel import check_of, curve_of
from tests.optimizer.two_sided_cars import DEMO_TEXT, car_of

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

CASES = Path(__file__).parents[3] / "cases"
WISHBONE = tomllib.loads((CASES / "track-wishbone.toml").read_text(encoding="utf-8"))
STRUT = tomllib.loads((CASES / "lowered-strut.toml").read_text(encoding="utf-8"))
TRACK, WHEELBASE = 1480.0, 2350.0


def car(table=WISHBONE, **tables):
    table = copy.deepcopy(table)
    for name, keys in tables.items():
        table[name] = table.get(name, {}) | keys
    return Case.model_validate(table)


def changed(case, drop=7.5, rack_raise=4.0, linkage=0):
    """Side effects of a drop and a raise against the car as it is."""
    (found,) = side_effects([Evaluator.of(case)], [against_now(drop, rack_raise, linkage)])
    return found


def against_now(drop, rack_raise=0.0, linkage=0):
    """The car as it is, then what is to be fitted."""
    return joined_settings([Settings.single(), Settings.single(drop, rack_raise, linkage)])


def both(pair):
    return np.array([pair.before, pair.after])


@pytest.fixture(params=["track-wishbone", "lowered-strut"])
def demo_case(request):
    return read_case(CASES / f"{request.param}.toml")


def curves_of(case, drop=7.5, rack_raise=4.0, **request):
    return [
        curve_of(case, CurveRequest(outer_drop=x, rack_raise=z, **request))
        for x, z in ((0.0, 0.0), (drop, rack_raise))
    ]


def at(result, travel, name):
    return getattr(result, name)[result.travel_mm.index(travel)]


def test_what_stands_at_ride_height_is_what_the_curve_has_there(demo_case):
    found = changed(demo_case)
    for name in (
        "camber_deg",
        "caster_deg",
        "kingpin_inclination_deg",
        "scrub_radius_mm",
        "mechanical_trail_mm",
    ):
        expected = [at(result, 0.0, name) for result in curves_of(demo_case)]
        np.testing.assert_allclose(both(getattr(found, name)), expected, atol=1e-8)


def test_changes_to_the_ends_of_the_used_travel_are_those_of_the_curve(demo_case):
    found, results = changed(demo_case), curves_of(demo_case)
    for end, travel in (("bump", demo_case.ride.bump), ("droop", -demo_case.ride.droop)):
        camber = [at(r, travel, "camber_deg") - at(r, 0.0, "camber_deg") for r in results]
        track = [at(r, travel, "half_track_change_mm") for r in results]
        np.testing.assert_allclose(
            both(getattr(found, f"camber_change_in_{end}_deg")), camber, atol=1e-8
        )
        np.testing.assert_allclose(
            both(getattr(found, f"half_track_change_in_{end}_mm")), track, atol=1e-8
        )


def test_a_stack_changes_nothing_that_the_ball_joints_decide(demo_case):
    found = changed(demo_case)
    for name in ("camber_deg", "caster_deg", "kingpin_inclination_deg", "scrub_radius_mm"):
        before, after = both(getattr(found, name))
        assert after == pytest.approx(before, abs=1e-8)
    assert found.arm_angle_deg.after == pytest.approx(found.arm_angle_deg.before, abs=1e-8)
    assert found.rod_angle_deg.after < found.rod_angle_deg.before - 1.0


def test_a_longer_ball_joint_lowers_the_arm_and_raises_the_roll_center():
    case = car(STRUT, lower_ball_joint={"drop": [0.0, 25.0]})
    found = changed(case, 0.0, 0.0, linkage=1)
    assert found.arm_angle_deg.after < found.arm_angle_deg.before - 1.0
    assert found.roll_center_height_mm.after > found.roll_center_height_mm.before + 10.0
    assert found.camber_deg.after != pytest.approx(found.camber_deg.before, abs=0.01)


def test_the_rod_angle_is_that_of_the_points_of_a_car_that_stands_as_measured():
    case = car(ride={"lowered_by": 0.0}, wheel={"toe_deg": 0.0})
    (_, y1, z1), (_, y2, z2) = case.points.tie_rod_inner, case.points.tie_rod_outer
    found = changed(case, drop=0.0, rack_raise=4.0)
    slopes = [(z2 - z1) / (y2 - y1), (z2 - z1 - 4.0) / (y2 - y1)]
    np.testing.assert_allclose(
        both(found.rod_angle_deg), np.degrees(np.arctan(slopes)), atol=ANGLE_ATOL_DEG
    )


def test_the_roll_center_is_half_the_stated_track_times_how_the_half_track_grows():
    found, plain = changed(car(car={"track": TRACK})), changed(car())
    assert both(found.half_track_mm) == pytest.approx([0.5 * TRACK, 0.5 * TRACK])
    assert plain.half_track_mm.before == pytest.approx(760.0, abs=20.0)
    ratio = both(found.roll_center_height_mm) / both(plain.roll_center_height_mm)
    np.testing.assert_allclose(ratio, 0.5 * TRACK / both(plain.half_track_mm), rtol=1e-9)
    near = curve_of(car(), CurveRequest(bump=0.5, droop=0.5))
    low, _, high = near.half_track_change_mm
    # The contact point stands the tire radius times cos(camber) below the wheel center.
    drop = 290.0 * np.cos(np.radians(near.camber_deg))
    rise = 1.0 - (drop[2] - drop[0])
    assert plain.roll_center_height_mm.before == pytest.approx(
        (high - low) / rise * plain.half_track_mm.before, rel=1e-5
    )


def test_the_ride_steer_gradient_is_the_slope_of_the_toe_curve_at_ride_height(demo_case):
    found = changed(demo_case)
    for result, toe, steer in zip(
        curves_of(demo_case, bump=0.5, droop=0.5),
        both(found.ride_toe_gradient),
        both(found.ride_steer_gradient),
        strict=True,
    ):
        low, _, high = result.toe_deg
        assert toe == pytest.approx(1000.0 * (high - low), abs=1e-3)
        assert steer == -toe  # a left wheel: toe-in is steer to the right
    assert "left wheel" in DEFINITIONS[found.ride_steer_gradient.definition.kind]


def mirrored(table):
    table = copy.deepcopy(table)
    table["points"] = {name: [x, -y, z] for name, (x, y, z) in table["points"].items()}
    return table


def test_a_right_wheel_has_the_same_figures_and_the_other_ride_steer():
    stated = {"car": {"track": TRACK, "wheelbase": WHEELBASE}}
    left, right = (changed(car(table, **stated)) for table in (WISHBONE, mirrored(WISHBONE)))
    for name in type(left).model_fields:
        of_left, of_right = getattr(left, name), getattr(right, name)
        if name in ("steered", "ride_steer_gradient"):
            continue
        if name == "turn_toe_out":
            of_left, of_right = (
                [tuple(turn.after.model_dump().values()) for turn in turns]
                for turns in (of_left, of_right)
            )
            np.testing.assert_allclose(of_left, of_right, atol=1e-8)
        elif name != "steer_rate_change_percent":
            np.testing.assert_allclose(both(of_left), both(of_right), rtol=1e-9, atol=1e-8)
    assert right.ride_steer_gradient.after == pytest.approx(-left.ride_steer_gradient.after)
    # The rack to the left steers the left wheel in as the rack to the right does the right wheel.
    np.testing.assert_allclose(left.steered[0].after_deg, right.steered[1].after_deg, atol=1e-8)


def test_roll_steer_is_toe_slope_times_half_the_track_and_not_told_without_a_track():
    found = changed(car(car={"track": TRACK}))
    # deg per m of travel; half of the track in m is the travel per radian of roll.
    per_radian = both(found.ride_toe_gradient) * 0.5 * TRACK / 1000.0
    np.testing.assert_allclose(
        both(found.roll_steer_gradient), np.radians(per_radian), atol=ANGLE_ATOL_DEG
    )
    unknown = changed(car()).roll_steer_gradient
    assert (unknown.before, unknown.after) == (None, None)


def test_a_steered_curve_is_the_curve_with_the_rack_there():
    case = car(steering={"check_at": [20.0]})
    (steered,) = changed(case).steered
    for result, found in zip(
        curves_of(case, rack_travel=20.0), (steered.before_deg, steered.after_deg), strict=True
    ):
        for travel in (-40.0, 0.0, 40.0):
            expected = at(result, travel, "toe_deg") - at(result, 0.0, "toe_deg")
            assert found[steered.travel_mm.index(travel)] == pytest.approx(expected, abs=1e-8)
    assert steered.peak_deg.after == max(abs(x) for x in steered.after_deg)


def test_with_the_rack_at_the_center_the_steered_curve_is_the_toe_curve_itself():
    case = car(steering={"check_at": [0.0]}, aim={"toe_gain_deg_per_10mm": -0.02})
    evaluator = Evaluator.of(case)
    (steered,) = changed(case).steered
    expected = np.degrees(evaluator.toe_change(against_now(7.5, 4.0)))[:, ::2]
    np.testing.assert_allclose([steered.before_deg, steered.after_deg], expected, atol=1e-8)
    assert changed(case).turn_toe_out[0].rack_travel_mm == case.steering.rack_travel


def test_rack_travels_to_check_at_are_halfway_to_both_locks_unless_stated():
    found = changed(car())
    assert [x.rack_travel_mm for x in found.steered] == [-27.5, 27.5]
    assert [x.rack_travel_mm for x in found.turn_toe_out] == [27.5, 55.0]
    found = changed(car(steering={"check_at": [-10.0, 10.0, 30.0]}))
    assert [x.rack_travel_mm for x in found.steered] == [-10.0, 10.0, 30.0]
    assert [x.rack_travel_mm for x in found.turn_toe_out] == [10.0, 30.0, 55.0]


def test_a_rack_that_states_no_travel_is_not_steered():
    found = changed(car(steering={"rack_travel": 0.0}))
    assert (found.steered, found.turn_toe_out) == ([], [])


def test_turn_toe_out_is_told_by_the_toe_at_both_locks():
    found = changed(car(car={"track": TRACK, "wheelbase": WHEELBASE})).turn_toe_out[-1]
    toe = {
        rack: [at(r, 0.0, "toe_deg") for r in curves_of(car(), rack_travel=rack)]
        for rack in (-55.0, 0.0, 55.0)
    }
    for k, angles in enumerate((found.before, found.after)):
        turned = sorted(toe[rack][k] - toe[0.0][k] for rack in (-55.0, 55.0))
        assert angles.inner_deg == pytest.approx(-turned[0], abs=1e-8)
        assert angles.outer_deg == pytest.approx(turned[1], abs=1e-8)
        assert angles.toe_out_deg == pytest.approx(-sum(turned), abs=1e-8)
        ideal = np.degrees(ackermann_angle(np.radians(turned[1]), TRACK, WHEELBASE)) - turned[1]
        assert angles.ackermann_toe_out_deg == pytest.approx(ideal, abs=1e-8)


def test_the_ackermann_angle_needs_both_sizes_of_the_car():
    for sizes in ({}, {"track": TRACK}, {"wheelbase": WHEELBASE}):
        assert changed(car(car=sizes)).turn_toe_out[0].before.ackermann_toe_out_deg is None


def test_a_lock_out_of_reach_is_not_made_up():
    found = changed(car(steering={"rack_travel": 400.0, "check_at": [-20.0, 399.0]}))
    assert found.turn_toe_out[0].after is not None
    assert found.turn_toe_out[-1].after is None
    assert found.steered[1].peak_deg.after is None
    assert None in found.steered[1].after_deg


def test_the_steering_ratio_is_the_slope_of_toe_over_the_rack():
    found = changed(car())
    for k, rate in enumerate(both(found.steer_rate_deg_per_mm)):
        toe = [at(curves_of(car(), rack_travel=rack)[k], 0.0, "toe_deg") for rack in (-0.05, 0.05)]
        assert rate == pytest.approx(abs(toe[1] - toe[0]) / 0.1, rel=1e-6)
    faster = 100.0 * (found.steer_rate_deg_per_mm.after / found.steer_rate_deg_per_mm.before - 1.0)
    assert found.steer_rate_change_percent == pytest.approx(faster)


def test_where_nothing_fits_only_the_car_as_it_is_is_told():
    case = car(joint={"outer": {"tilt_limit_deg": 0.5}})
    result = suggest(Vehicle((case,)))
    assert not result.ranked[0].fits
    assert result.wheels[0].side_effects.roll_center_height_mm.after is None
    assert result.wheels[0].side_effects.roll_center_height_mm.before is not None
    assert result.wheels[0].side_effects.steered[0].after_deg is None
    assert result.wheels[0].side_effects.steer_rate_change_percent is None
    assert "What else it changes" not in suggest_report(result, "case.toml")


def test_the_report_shows_what_changes_and_lists_what_does_not():
    case = car(car={"track": TRACK, "wheelbase": WHEELBASE})
    result = suggest(Vehicle((case,)))
    found, text = result.wheels[0].side_effects, suggest_report(result, "case.toml")
    table = text[text.index("What else it changes") : text.index("Before it goes")]
    assert f"{found.roll_center_height_mm.before:+.1f}" in table
    assert f"{found.roll_center_height_mm.after:+.1f}" in table
    assert f"Ackermann {found.turn_toe_out[0].after.ackermann_toe_out_deg:+.2f}" in table
    assert f"{found.roll_steer_gradient.before:+.3f}" in table
    assert f"caster {found.caster_deg.before:+.2f} deg" in table[table.index("Unchanged") :]
    words = " ".join(table.split())
    assert DEFINITIONS[found.roll_steer_gradient.definition.kind][1:] in words
    assert "a guide only" in words


def test_a_beam_axle_s_turns_to_both_sides_are_those_of_its_curves():
    """The drag link turns the wheels farther one way than the other; so they toe out more."""
    truck = read_case(CASES / "lifted-beam-axle.toml")
    found = changed(truck, drop=-30.0, rack_raise=0.0).turn_toe_out
    assert [turn.rack_travel_mm for turn in found] == [31.0, 62.0, -31.0, -62.0]
    toes = {}
    for rack in (0.0, 62.0, -62.0):
        asked = CurveRequest(rack_travel=rack, bump=0.0, droop=0.0)
        here = curve_of(truck, asked)
        toes[rack] = np.array([here.toe_deg[0], here.other_wheel_toe_deg[0]])
    for turn in (found[1], found[3]):
        # Toe-in turns a left wheel to the right, and a right one to the left.
        left, right = (toes[turn.rack_travel_mm] - toes[0.0]) * [-1.0, 1.0]
        inner, outer = (left, right) if turn.rack_travel_mm > 0.0 else (-right, -left)
        assert turn.before.inner_deg == pytest.approx(inner, abs=1e-8)
        assert turn.before.outer_deg == pytest.approx(outer, abs=1e-8)
    assert found[3].before.toe_out_deg > 2.0 * found[1].before.toe_out_deg


def test_the_turns_of_two_measured_wheels_are_those_of_both_with_the_rack_where_it_is():
    wheels = car_of(DEMO_TEXT).wheels
    settings = [against_now(3.0, 2.0), against_now(1.0, 2.0)]
    found = side_effects([Evaluator.of(case) for case in wheels], settings)

    def steered(rack_travel, drops, rack_raise):
        for case, drop in zip(wheels, drops, strict=True):
            asked = {"outer_drop": drop, "rack_raise": rack_raise, "bump": 0.0, "droop": 0.0}
            toe = [
                curve_of(case, CurveRequest(**asked, rack_travel=at)).toe_deg[0]
                for at in (rack_travel, 0.0)
            ]
            yield toe[0] - toe[1]

    turns = zip(*(one.turn_toe_out for one in found), strict=True)
    for left_turn, right_turn in turns:
        for toward in (left_turn.rack_travel_mm, -left_turn.rack_travel_mm):
            for key, fitted in (("before", ((0.0, 0.0), 0.0)), ("after", ((3.0, 1.0), 2.0))):
                left, right = steered(toward, *fitted)
                told = getattr(left_turn if left < 0.0 else right_turn, key)
                assert told.inner_deg == pytest.approx(-min(left, right), abs=ANGLE_ATOL_DEG)
                assert told.outer_deg == pytest.approx(max(left, right), abs=ANGLE_ATOL_DEG)
                assert told.toe_out_deg == pytest.approx(-left - right, abs=ANGLE_ATOL_DEG)


FLAT_AXLE = tomllib.loads(
    (Path(__file__).parents[2] / "flat_axle.toml").read_text(encoding="utf-8")
)


@pytest.mark.parametrize(("frame_z", "axle_z"), [(380.0, 380.0), (460.0, 376.0), (350.0, 434.0)])
def test_a_beam_axle_rolls_about_the_middle_of_its_lateral_link(frame_z, axle_z):
    """Links lengthwise hinder no roll, so the center lies on the lateral link's line.

    Over the middle of the car, by symmetry: 40 % along a link from y = -336 to y = 504.
    """
    table = {
        "format": 1,
        "name": "axle",
        "units": "mm",
        "layout": "beam-axle",
        "points": {
            **FLAT_AXLE,
            "drag_link_inner": [150, -300, 480],
            "drag_link_outer": [150, 620, 470],
            "link_1_inner": [40, -336, frame_z],
            "link_1_outer": [30, 504, axle_z],
        },
        "wheel": {"tire_radius": 355.0},
        "ride": {"bump": 60.0, "droop": 60.0},
        "outer_pivot": {"stack": {"min": -5.0, "max": 5.0, "step": 5.0}},
    }
    found = changed(Case.model_validate(table))
    ground = 360.0 - 355.0
    expected = frame_z + 0.4 * (axle_z - frame_z) - ground
    assert found.roll_center_height_mm.before == pytest.approx(expected, abs=1e-6)
    assert found.instant_center_height_mm.before is None


def test_a_check_beyond_the_lock_is_refused_by_its_place():
    table = copy.deepcopy(WISHBONE)
    table["steering"]["check_at"] = [10.0, 56.0]
    with pytest.raises(ValueError, match=r"steering\.check_at\[2\] must be between") as caught:
        Case.model_validate(table)
    (fault,) = faults_in(caught.value, Case)
    assert fault.message.endswith("the rack's locks, got 56 mm")


def test_a_track_that_is_not_of_these_points_is_doubted():
    for track, doubted in ((1200.0, True), (TRACK, False)):
        found = {doubt.location for doubt in check_of(car(car={"track": track})).doubts}
        assert ("car.track" in found) == doubted
