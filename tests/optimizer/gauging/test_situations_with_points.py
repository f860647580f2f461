"""Situations of the trade, end to end, on cars whose points are known.

The figures are invented; what goes wrong in each is what goes wrong in real garages (common
practice, no source).
"""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.models.gauge import WheelGauge
from optimizer.models.questions import NotToe, OtherWheel, OutOfReach, Slip
from optimizer.models.remedies import HeldAgainstBand, LengthError
from optimizer.models.sweeps import Lesson, SideFinding
from optimizer.reports.terminal_gauge import gauge_report
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

from .conftest import CASES
from .garage import dial_places, plate
from .sweeps import kind_of, kinds, only
from .typed import ANGLE, HEAD, rows


def fitted_in(wheel: WheelGauge) -> tuple[float, float]:
    """Outer drop and inner raise that are to be fitted next. [mm]"""
    return wheel.next.outer_drop_mm, wheel.next.rack_raise_mm


def sweep_of_case(case: Path, travel: np.ndarray, drop: float = 0.0, inner_z: float = 0.0) -> str:
    """A sweep of a car that is as its case says, but for the height of its inner pivot."""
    evaluator = Evaluator.of(read_case(case))
    toe = np.degrees(evaluator.toe(Settings.single(drop, inner_z), travel)[0])
    return f"outer_drop = {drop}\n" + rows(*zip(travel, np.round(toe, 3), strict=True))


def test_a_lone_dial_s_curve_is_partly_not_toe_and_the_points_say_how_much(judged, demo_folder):
    case = demo_folder / "track-wishbone.toml"
    evaluator = Evaluator.of(read_case(case))
    corner, travel = evaluator.corner, np.arange(-40.0, 41.0, 10.0)
    motion = evaluator.motion(Settings.single(), travel)
    center = motion.moved(corner.points["wheel_center"])[0, 4]
    points = plate(corner.points["wheel_center"], corner.spin)
    dial = dial_places(motion, points, center[:1] - 250.0, center[2])[0, :, 0]
    lone = (
        HEAD + 'kind = "single-dial"\ndial_distance = 250.0\ndial_at = "rear"\n'
        'reading_grows = "outboard"\n'
        + rows(*zip(travel, np.round(dial - dial[4], 2), strict=True))
    )
    with_points, without = judged(lone, case=case), judged(lone)
    assert only(NotToe, with_points.questions).no_toe_deg
    assert "lone-dial" in kinds(without.questions)
    true = float(np.degrees(evaluator.curve(Settings.single()).slope[0])) * 10.0
    assert with_points.measured.toe_slope_deg_per_10mm == pytest.approx(true, abs=0.01)
    assert abs(without.measured.toe_slope_deg_per_10mm - true) > 0.05


def test_a_length_error_leaves_the_best_stack_short_of_the_tolerance(judged, demo_folder):
    wheel = judged(
        (demo_folder / "readings" / "lowered-strut.toml").read_text(encoding="utf-8"),
        case=demo_folder / "lowered-strut.toml",
    )
    assert only(LengthError, wheel.diagnosis).cure == "lengthen-rod"
    assert wheel.next.best_of_hardware_deg > 0.05  # the case's tolerance


def test_a_dial_turned_the_other_way_is_noticed_where_points_are_known(judged, demo_folder):
    sweep = (demo_folder / "readings" / "lowered-strut.toml").read_text(encoding="utf-8")
    turned = sweep.replace('reading_grows = "outboard"', 'reading_grows = "inboard"')
    case = demo_folder / "lowered-strut.toml"
    assert kind_of(Slip, judged(sweep, case=case).questions) == []
    assert kind_of(Slip, judged(turned, case=case).questions) == ["turned"]


@pytest.mark.parametrize(
    ("at", "distance", "kind"),
    [("rear", 250.0, []), ("front", 250.0, ["other-end"]), ("rear", 125.0, ["halved"])],
)
def test_one_dial_at_the_other_end_or_farther_away_is_noticed(
    judged, demo_folder, at, distance, kind
):
    gauge = f'kind = "single-dial"\ndial_at = "{at}"\ndial_distance = {distance}\n'
    both = tomllib.loads((demo_folder / "readings" / "lowered-strut.toml").read_text("utf-8"))
    lone = rows(*((travel, rear) for travel, _, rear in both["readings"]))
    sweep = HEAD + gauge + 'reading_grows = "outboard"\n' + lone
    asked = judged(sweep, case=demo_folder / "lowered-strut.toml").questions
    assert kind_of(Slip, asked) == kind


def test_both_sides_alike_are_fitted_together_and_unlike_sides_are_not(judged, demo_folder):
    sweep = (demo_folder / "readings" / "lowered-strut.toml").read_text(encoding="utf-8")
    case = demo_folder / "lowered-strut.toml"
    right = sweep.replace("outer_drop = 0.0", 'side = "right"\nouter_drop = 0.0')
    assert kind_of(SideFinding, judged(sweep, right, case=case).diagnosis) == ["alike"]
    head, _, _ = right.partition("readings =")
    dials = tomllib.loads(right)["readings"]
    bent = head + rows(*((t, front, rear - 0.04 * max(t, 0.0)) for t, front, rear in dials))
    assert kind_of(SideFinding, judged(sweep, bent, case=case).diagnosis)[0] == "differ"
    alone = judged(right, case=case)
    assert only(OtherWheel, alone.questions) == OtherWheel(said="right", measured="left")


def test_a_rear_toe_link_is_brought_into_the_maker_s_band_and_not_to_zero(
    judged, demo_folder, tmp_path
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
    wheel = judged(sweep, case=with_band)
    held = only(HeldAgainstBand, wheel.diagnosis)
    assert held.side is None
    assert held.verdict.outside
    assert wheel.next.within_band
    assert wheel.expected[-1].travel_mm == 50.0
    assert 0.0 < wheel.expected[-1].toe_change_deg < 0.2
    to_zero = judged(sweep, case=zero)
    assert kind_of(HeldAgainstBand, to_zero.diagnosis) == []
    assert to_zero.next.within_band is None
    assert fitted_in(to_zero) != fitted_in(wheel)


def test_the_same_stack_is_right_on_one_side_only_and_each_side_gets_its_own(judged, demo_folder):
    case = demo_folder / "lowered-strut.toml"
    travel = np.arange(-60.0, 51.0, 10.0)
    exact = "noise = 0.003\n"
    left = ANGLE + 'side = "left"\n' + exact + sweep_of_case(case, travel, drop=16.0)
    # The right bracket sits 4 mm higher than the left one: 4 mm too much with the same stack.
    right = ANGLE + 'side = "right"\n' + exact + sweep_of_case(case, travel, 16.0, inner_z=4.0)
    assert "differ" in kind_of(SideFinding, judged(left, right, case=case).diagnosis)
    heights = [sum(fitted_in(judged(one, case=case))) for one in (left, right)]
    assert heights[0] - heights[1] == pytest.approx(4.0, abs=1.0)


def test_a_car_that_lives_in_its_dive_is_fitted_for_that_range(judged, demo_folder, tmp_path):
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
    standing, diving = judged(sweep, case=static), judged(from_dive, case=dive)
    assert kind_of(OutOfReach, diving.questions) == []
    assert not any(place.remeasure for place in diving.moved)
    assert fitted_in(diving) != fitted_in(standing)
    assert diving.next.peak_toe_change_deg < 0.05


def beam_axle_sweep(case: Path, brackets: int, **fitted: float) -> str:
    """A sweep of the beam axle as its case says, with a pair of lateral-link brackets fitted."""
    travel = np.arange(-80.0, 81.0, 20.0)
    heights = (fitted.get("outer_drop", 0.0), fitted.get("rack_raise", 0.0))
    toe = Evaluator.of(read_case(case)).toe(Settings.single(*heights, brackets), travel)[0]
    keys = "".join(f"{key} = {height}\n" for key, height in fitted.items())
    return ANGLE + keys + rows(*zip(travel, np.round(np.degrees(toe), 3), strict=True))


def test_a_beam_axle_swept_again_with_another_lateral_link_bracket_is_the_same_axle(
    answered, demo_folder
):
    case = demo_folder / "lifted-beam-axle.toml"  # number 3 has the frame bracket 40 mm lower
    first = beam_axle_sweep(case, 0)
    fitted = {"outer_drop": -30.0, "rack_raise": -45.0, "frame_bracket_raise": -40.0}
    gauged = answered(first, beam_axle_sweep(case, 3, **fitted), case=case)
    (wheel,) = gauged.wheels
    assert wheel.moved == []
    assert wheel.next.frame_bracket_raise_mm == -40.0
    assert kind_of(Lesson, wheel.diagnosis) == []  # the bracket turned the curve too
    (_, then) = gauged.swept
    assert "frame bracket lowered by 40 mm fitted" in sentence(then, Reader(gauged.subject))


def test_brackets_left_out_and_the_case_s_first_ones_named_are_the_same_brackets(
    judged, demo_folder, tmp_path
):
    text = (demo_folder / "lifted-beam-axle.toml").read_text(encoding="utf-8")
    text, times = re.subn(r"(?m)^frame_bracket\s*= .*", "frame_bracket = [-40.0, 0.0]", text)
    assert times == 1
    case = tmp_path / "axle.toml"
    case.write_text(text, encoding="utf-8")
    first = beam_axle_sweep(case, 0)
    then = beam_axle_sweep(case, 0, outer_drop=-30.0, frame_bracket_raise=-40.0)
    assert only(Lesson, judged(first, then, case=case).diagnosis)


def test_sweeps_with_other_brackets_tell_nothing_of_a_stack_without_a_case_either(
    judged, demo_folder
):
    case = demo_folder / "lifted-beam-axle.toml"
    first = beam_axle_sweep(case, 0)
    assert only(Lesson, judged(first, beam_axle_sweep(case, 0, outer_drop=-30.0)).diagnosis)
    brackets = {"outer_drop": -30.0, "frame_bracket_raise": -40.0}
    other = judged(first, beam_axle_sweep(case, 3, **brackets))
    assert kind_of(Lesson, other.diagnosis) == []


@pytest.mark.parametrize(
    ("car", "key", "words"),
    [
        ("lifted-beam-axle", "ball_joint_drop = 25.0", "ball_joint_drop must be left out"),
        ("lifted-beam-axle", "frame_bracket_raise = -41.0", "is none of what the case's"),
        ("lowered-strut", "axle_bracket_raise = 25.0", "axle_bracket_raise must be left out"),
    ],
)
def test_a_part_that_the_case_has_not_can_t_have_been_fitted(refused, demo_folder, car, key, words):
    sweep = ANGLE + f"{key}\n" + rows((-10.0, 0.1), (0.0, 0.0), (10.0, -0.1))
    assert words in refused(sweep, case=demo_folder / f"{car}.toml")


def test_an_extension_that_must_come_off_again_is_a_change_of_the_linkage(judged, demo_folder):
    # Swept with 30 mm fitted; the case's hardware has no extension at all.
    case, travel = demo_folder / "lowered-strut.toml", np.arange(-40.0, 41.0, 10.0)
    read = read_case(case)
    joint = read.lower_ball_joint.model_copy(update={"drop": (30.0,)})
    extended = Evaluator.of(read.model_copy(update={"lower_ball_joint": joint}))
    toe = np.degrees(extended.toe(Settings.single(), travel)[0])
    sweep = rows(*zip(travel, np.round(toe, 3), strict=True))
    found = judged(ANGLE + "ball_joint_drop = 30.0\n" + sweep, case=case).next
    assert (found.ball_joint_drop_mm, found.linkage_changes) == (0.0, True)


def test_readings_to_expect_of_both_wheels_say_so_and_have_plain_zeros(answered, demo_folder):
    sweep = ANGLE + "total = true\n" + of_the_strut(np.arange(-40.0, 41.0, 10.0), 2.0)
    answer = answered(sweep, case=demo_folder / "lowered-strut.toml")
    assert answer.wheels[0].gauge_shows.name == "toe of both wheels"
    for row in answer.wheels[0].expected:
        assert row.gauge == pytest.approx(2.0 * row.toe_change_deg, abs=1e-9)
    text = gauge_report(answer, ["car.toml"])
    assert "toe of both wheels, zero at ride height" in text
    assert not re.search(r"[-+]0\.0+(?!\d)", text)


def of_the_strut(travel: np.ndarray, factor: float = 1.0, car: str = "lowered-strut") -> str:
    """Rows of a demo car that is as its case says, toe times a factor."""
    toe = Evaluator.of(read_case(CASES / f"{car}.toml")).toe(Settings.single(), travel)[0]
    return rows(*zip(travel, np.round(factor * np.degrees(toe), 3), strict=True))


@pytest.mark.parametrize(("sign", "slip"), [(1.0, []), (-1.0, ["turned"])])
def test_what_follows_from_readings_that_were_turned_round_is_a_guess(
    judged, demo_folder, sign, slip
):
    sweep = ANGLE + of_the_strut(np.arange(-60.0, 51.0, 10.0), sign)
    wheel = judged(sweep, case=demo_folder / "lowered-strut.toml")
    assert kind_of(Slip, wheel.questions) == slip
    assert wheel.contradictory == bool(slip)


@pytest.mark.parametrize("car", ["lowered-strut", "five-link-rear"])
def test_the_next_stack_says_what_comes_nearest_to_binding(judged, demo_folder, car):
    sweep = ANGLE + of_the_strut(np.arange(-50.0, 51.0, 10.0), car=car)
    tight = judged(sweep, case=demo_folder / f"{car}.toml").next.tightest_joint
    assert tight.name in ("inner joint", "outer joint")
    assert 0.0 < tight.value < tight.limit
