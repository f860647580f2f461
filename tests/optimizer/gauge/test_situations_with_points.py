"""Situations of the trade, end to end, on cars whose points are known.

The figures are invented; what goes wrong in each is what goes wrong in real garages (common
practice, no source).
"""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case

from .garage import dial_places, plate
from .typed import ANGLE, HEAD, rows


def slope_in(text: str) -> float:
    return float(re.search(r"Slope ([-+.\d]+) deg per", text)[1])


def fitted_in(text: str) -> tuple[float, float]:
    """Outer drop and inner raise that a report asks for. [mm]"""
    found = re.search(
        r"Fit outer (drop|raise) ([\d.]+) mm.*?, [a-z ]+ (drop|raise) ([\d.]+) mm", text
    )
    signs = (1.0 if found[1] == "drop" else -1.0, 1.0 if found[3] == "raise" else -1.0)
    return signs[0] * float(found[2]), signs[1] * float(found[4])


def sweep_of_case(case: Path, travel: np.ndarray, drop: float = 0.0, inner_z: float = 0.0) -> str:
    """A sweep of a car that is as its case says, but for the height of its inner pivot."""
    evaluator = Evaluator.of(read_case(case))
    setting = Settings.single(drop, inner_z, evaluator.case.lower_ball_joint.drop[0])
    toe = np.degrees(evaluator.toe(setting, travel)[0])
    return f"outer_drop = {drop}\n" + rows(*zip(travel, np.round(toe, 3), strict=True))


def test_a_lone_dial_s_curve_is_partly_not_toe_and_the_points_say_how_much(told, demo_folder):
    case = demo_folder / "track-wishbone.toml"
    evaluator = Evaluator.of(read_case(case))
    corner, joint = evaluator.corner, evaluator.case.lower_ball_joint.drop[0]
    travel = np.arange(-40.0, 41.0, 10.0)
    motion = evaluator.motion(Settings.single(ball_joint_drop=joint), travel)
    center = motion.moved(corner.points["wheel_center"])[0, 4]
    points = plate(corner.points["wheel_center"], corner.spin)
    dial = dial_places(motion, points, center[:1] - 250.0, center[2])[0, :, 0]
    lone = (
        HEAD + 'kind = "single-dial"\ndial_distance = 250.0\ndial_at = "rear"\n'
        'reading_grows = "outboard"\n'
        + rows(*zip(travel, np.round(dial - dial[4], 2), strict=True))
    )
    with_points, without = told(lone, case=case), told(lone)
    assert "is no toe, by the case's points, but the wheel moving sideways" in with_points
    assert "without the points of a case that can't be told from toe" in without
    setting = Settings.single(ball_joint_drop=joint)
    true = float(np.degrees(evaluator.curve(setting).slope[0])) * 10.0
    assert slope_in(with_points) == pytest.approx(true, abs=0.01)
    assert abs(slope_in(without) - true) > 0.05


def test_a_length_error_leaves_the_best_stack_short_of_the_tolerance(told, demo_folder):
    text = told(
        (demo_folder / "readings" / "lowered-strut.toml").read_text(encoding="utf-8"),
        case=demo_folder / "lowered-strut.toml",
    )
    assert "Shims can't cure the part that goes the same way in bump and droop" in text
    assert "the tie rod is too short: move the inner pivot inboard" in text
    best = float(text.partition("the best of this hardware is ")[2].split()[0])
    assert best > 0.05  # the case's tolerance


def test_a_dial_turned_the_other_way_is_noticed_where_points_are_known(told, demo_folder):
    sweep = (demo_folder / "readings" / "lowered-strut.toml").read_text(encoding="utf-8")
    turned = sweep.replace('reading_grows = "outboard"', 'reading_grows = "inboard"')
    case = demo_folder / "lowered-strut.toml"
    assert "As typed, the readings don't fit the points" not in told(sweep, case=case)
    text = told(turned, case=case)
    assert "turned round they would: is reading_grows right" in text


def test_both_sides_alike_are_fitted_together_and_unlike_sides_are_not(told, demo_folder):
    sweep = (demo_folder / "readings" / "lowered-strut.toml").read_text(encoding="utf-8")
    case = demo_folder / "lowered-strut.toml"
    right = sweep.replace("outer_drop = 0.0", 'side = "right"\nouter_drop = 0.0')
    text = told(sweep, right, case=case)
    assert "The wheels pass for mirror images" in text
    head, _, _ = right.partition("readings =")
    dials = tomllib.loads(right)["readings"]
    bent = head + rows(*((t, front, rear - 0.04 * max(t, 0.0)) for t, front, rear in dials))
    text = told(sweep, bent, case=case)
    assert "The sides differ" in text
    assert "Each side needs a stack of its own" in text
    alone = told(right, case=case)
    assert "they are taken for its mirror image. Is the car symmetric?" in alone


def test_a_rear_toe_link_is_brought_into_the_maker_s_band_and_not_to_zero(
    told, demo_folder, tmp_path
):
    # The maker's rear gains toe-in in bump on purpose; "zero is best" would undo that.
    rear = (demo_folder / "five-link-rear.toml").read_text(encoding="utf-8")
    gain = "toe_gain_deg_per_10mm = 0.02\n"
    assert gain in rear
    band = "band = [[-50.0, -0.2, 0.0], [0.0, -0.02, 0.02], [50.0, 0.0, 0.2]]\n"
    with_band, zero = tmp_path / "band.toml", tmp_path / "zero.toml"
    with_band.write_text(rear.replace(gain, band), encoding="utf-8")
    zero.write_text(rear.replace(gain, ""), encoding="utf-8")
    sweep = ANGLE + sweep_of_case(with_band, np.arange(-50.0, 51.0, 10.0))
    text = told(sweep, case=with_band)
    assert "The curve is outside the wanted band at" in text
    assert "more toe-out than it allows" in text or "more toe-in than it allows" in text
    assert "The expected readings stay inside the wanted band." in text
    in_bump = re.search(r"\+50\.0 +([-+.\d]+) +[-+.\d]+ ", text.partition("then show")[2])
    assert 0.0 < float(in_bump[1]) < 0.2
    to_zero = told(sweep, case=zero)
    assert "wanted band" not in to_zero
    assert fitted_in(to_zero) != fitted_in(text)


def test_the_same_stack_is_right_on_one_side_only_and_each_side_gets_its_own(told, demo_folder):
    case = demo_folder / "lowered-strut.toml"
    travel = np.arange(-60.0, 51.0, 10.0)
    exact = "noise = 0.003\n"
    left = ANGLE + 'side = "left"\n' + exact + sweep_of_case(case, travel, drop=16.0)
    # The right bracket sits 4 mm higher than the left one: 4 mm too much with the same stack.
    right = ANGLE + 'side = "right"\n' + exact + sweep_of_case(case, travel, 16.0, inner_z=4.0)
    assert "Each side needs a stack of its own" in told(left, right, case=case)
    heights = [sum(fitted_in(told(one, case=case))) for one in (left, right)]
    assert heights[0] - heights[1] == pytest.approx(4.0, abs=1.0)


def test_a_car_that_lives_in_its_dive_is_fitted_for_that_range(told, demo_folder, tmp_path):
    # On bump stops 40 mm below ride height, from where it moves a little up and down.
    text = (demo_folder / "lowered-strut.toml").read_text(encoding="utf-8")
    dive = tmp_path / "dive.toml"
    for old, new in (
        ("lowered_by = 40.0", "lowered_by = 80.0"),
        ("bump       = 50.0", "bump       = 10.0"),
        ("droop      = 60.0", "droop      = 15.0"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    dive.write_text(text, encoding="utf-8")
    static = demo_folder / "lowered-strut.toml"
    travel = np.arange(-30.0, 51.0, 5.0)
    sweep = ANGLE + sweep_of_case(static, travel)  # heights counted from where the car stands
    from_dive = sweep.replace("readings =", "at_ride_height = 40.0\nreadings =")
    standing, diving = told(sweep, case=static), told(from_dive, case=dive)
    assert "can't reach" not in diving
    assert "Re-measure" not in diving
    assert fitted_in(diving) != fitted_in(standing)
    peak = float(re.search(r"Expected peak ([\d.]+) deg", diving)[1])
    assert peak < 0.05


def beam_axle_sweep(case: Path, brackets: int, **fitted: float) -> str:
    """A sweep of the beam axle as its case says, with a pair of lateral-link brackets fitted."""
    travel = np.arange(-80.0, 81.0, 20.0)
    heights = (fitted.get("outer_drop", 0.0), fitted.get("rack_raise", 0.0))
    toe = Evaluator.of(read_case(case)).toe(Settings.single(*heights, brackets), travel)[0]
    keys = "".join(f"{key} = {height}\n" for key, height in fitted.items())
    return ANGLE + keys + rows(*zip(travel, np.round(np.degrees(toe), 3), strict=True))


def test_a_beam_axle_swept_again_with_another_lateral_link_bracket_is_the_same_axle(
    told, demo_folder
):
    case = demo_folder / "lifted-beam-axle.toml"  # number 3 has the frame bracket 40 mm lower
    first = beam_axle_sweep(case, 0)
    fitted = {"outer_drop": -30.0, "rack_raise": -45.0, "frame_bracket_raise": -40.0}
    text = told(first, beam_axle_sweep(case, 3, **fitted), case=case)
    assert "The readings leave every point nearly where it was measured." in text
    assert "lateral link's frame bracket drop 40.0 mm" in text
    assert "was worth" not in text  # the bracket turned the curve too


def test_brackets_left_out_and_the_case_s_first_ones_named_are_the_same_brackets(
    told, demo_folder, tmp_path
):
    text = (demo_folder / "lifted-beam-axle.toml").read_text(encoding="utf-8")
    text, times = re.subn(r"(?m)^frame_bracket\s*= .*", "frame_bracket = [-40.0, 0.0]", text)
    assert times == 1
    case = tmp_path / "axle.toml"
    case.write_text(text, encoding="utf-8")
    first = beam_axle_sweep(case, 0)
    then = beam_axle_sweep(case, 0, outer_drop=-30.0, frame_bracket_raise=-40.0)
    assert "was worth" in told(first, then, case=case)


def test_sweeps_with_other_brackets_tell_nothing_of_a_stack_without_a_case_either(
    told, demo_folder
):
    case = demo_folder / "lifted-beam-axle.toml"
    first = beam_axle_sweep(case, 0)
    assert "was worth" in told(first, beam_axle_sweep(case, 0, outer_drop=-30.0))
    brackets = {"outer_drop": -30.0, "frame_bracket_raise": -40.0}
    assert "was worth" not in told(first, beam_axle_sweep(case, 3, **brackets))


@pytest.mark.parametrize(
    ("car", "key", "words"),
    [
        ("lifted-beam-axle", "ball_joint_drop = 25.0", "ball_joint_drop must be left out"),
        ("lifted-beam-axle", "frame_bracket_raise = -41.0", "is none of what the case's"),
        ("lowered-strut", "axle_bracket_raise = 25.0", "axle_bracket_raise must be left out"),
    ],
)
def test_a_part_that_the_case_has_not_can_t_have_been_fitted(told, demo_folder, car, key, words):
    sweep = ANGLE + f"{key}\n" + rows((-10.0, 0.1), (0.0, 0.0), (10.0, -0.1))
    assert words in told(sweep, case=demo_folder / f"{car}.toml", code=2)


def test_an_extension_that_must_come_off_again_is_named_with_its_0(told, demo_folder):
    # Swept with 30 mm fitted; the case's hardware has no extension at all.
    case = demo_folder / "lowered-strut.toml"
    travel = np.arange(-40.0, 41.0, 10.0)
    setting = Settings.single(ball_joint_drop=30.0)
    toe = np.degrees(Evaluator.of(read_case(case)).toe(setting, travel)[0])
    sweep = rows(*zip(travel, np.round(toe, 3), strict=True))
    told_with = told(ANGLE + "ball_joint_drop = 30.0\n" + sweep, case=case)
    assert "lower ball joint drop 0.0 mm, counted from the standard seat" in told_with


def test_readings_to_expect_of_both_wheels_say_so_and_have_plain_zeros(told, demo_folder):
    case = demo_folder / "lowered-strut.toml"
    travel = np.arange(-40.0, 41.0, 10.0)
    toe = np.degrees(Evaluator.of(read_case(case)).toe(Settings.single(), travel)[0])
    sweep = ANGLE + "total = true\n" + rows(*zip(travel, np.round(2.0 * toe, 3), strict=True))
    text = told(sweep, case=case)
    assert "toe of both wheels, zero at ride height" in text
    assert not re.search(r"[-+]0\.0+(?!\d)", text)
    expected = re.search(r"\+40\.0 ([-+.\d]+) ([-+.\d]+) \+30\.0", text)
    assert float(expected[2]) == pytest.approx(2.0 * float(expected[1]), abs=0.0015)


def test_what_follows_from_readings_that_were_turned_round_is_called_a_guess(told, demo_folder):
    case = demo_folder / "lowered-strut.toml"
    travel = np.arange(-60.0, 51.0, 10.0)
    toe = np.degrees(Evaluator.of(read_case(case)).toe(Settings.single(), travel)[0])
    right, turned = (
        told(ANGLE + rows(*zip(travel, np.round(sign * toe, 3), strict=True)), case=case)
        for sign in (1.0, -1.0)
    )
    guess = "Points and readings contradict each other: until one of them is put right"
    assert "turned round they would: is reading_grows right" in turned
    assert guess in turned
    assert guess not in right


@pytest.mark.parametrize("car", ["lowered-strut", "five-link-rear"])
def test_the_next_stack_says_what_comes_nearest_to_binding_and_that_no_reading_tells_it(
    told, demo_folder, car
):
    case = demo_folder / f"{car}.toml"
    travel = np.arange(-50.0, 51.0, 10.0)
    toe = np.degrees(Evaluator.of(read_case(case)).toe(Settings.single(), travel)[0])
    text = told(ANGLE + rows(*zip(travel, np.round(toe, 3), strict=True)), case=case)
    steers = car != "five-link-rear"
    everywhere = f"over the whole travel{' and lock' if steers else ''}, to 0.01 mm"
    tilts = r"(inner|outer) joint tilts [\d.]+ of [\d.]+ deg at"
    assert re.search(f"Tightest {everywhere}: {tilts}", text)
    locks = " at both locks" if steers else ""
    assert f"only as sure as the tape, so sweep the wheel by hand{locks} and look." in text
