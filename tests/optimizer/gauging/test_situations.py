"""Situations of the trade, end to end: readings typed as people type them, and what is found.

The figures are invented; what goes wrong in each is what goes wrong in real garages (common
practice, no source).  Cars whose points are known are in test_situations_with_points.
"""

import numpy as np
import pytest

from optimizer.models.questions import Question, ShortStroke
from optimizer.models.remedies import (
    CountedFrom,
    CurveShape,
    HeightError,
    HeldAgainstBand,
    LengthError,
    Matters,
)
from optimizer.models.sweeps import Contradiction, Lesson, SideFinding

from .sweeps import kind_of, kinds, only
from .typed import ANGLE, HEAD, KIT_CAR, MINUTES, TWO_DIALS, curve, rows

SLOPE = float(np.degrees(1.0 / (340.0 * 120.0)))  # of the kit car, per mm of travel and of height


def test_a_rack_nine_millimeters_low_is_named_from_readings_and_two_lengths(judged):
    # The club says "about 9 mm, rack too low"; one sweep without any points confirms it.
    diagnosis = judged(MINUTES + KIT_CAR + curve(lambda t: -9.0 * SLOPE * 60.0 * t)).diagnosis
    found = only(HeightError, diagnosis)
    assert found.cure == "lower-outer"
    assert found.by_mm == pytest.approx(9.0, abs=0.05)
    assert found.worth_deg_per_mm2 * 25.0 * 60.0 == pytest.approx(2.1, abs=0.05)
    assert kind_of(LengthError, diagnosis) == []


def test_where_the_rack_is_already_too_high_the_club_s_nine_millimeters_would_be_wrong(judged):
    # Right front, a 4 mm spacer under the rack; cured by taking it out.
    fitted = 'side = "right"\nrack_raise = 4.0\n'
    sweep = MINUTES + fitted + KIT_CAR + curve(lambda t: 4.0 * SLOPE * 60.0 * t)
    diagnosis = judged(sweep).diagnosis
    assert only(CurveShape, diagnosis) == CurveShape(kind="slope", way="in")
    assert only(HeightError, diagnosis).cure == "raise-outer"
    assert only(HeightError, diagnosis).by_mm == pytest.approx(4.0, abs=0.05)


def test_a_rod_three_millimeters_short_does_not_matter(judged):
    # Days spent looking for a rack 7 mm wider, for a minute and a half at 50 mm.
    diagnosis = judged(MINUTES + KIT_CAR + curve(lambda t: -1.5 * (t / 50.0) ** 2)).diagnosis
    assert kinds(diagnosis) == ["keeps", "within"]


def test_shims_on_the_wrong_sides_are_found_by_comparing_both_wheels(judged):
    # The sides need stacks 3.75 mm apart; they have them, but the other way round.
    left = 'side = "left"\nouter_drop = 4.0\n' + curve(lambda t: +0.5 * 7.5 * SLOPE * t)
    right = 'side = "right"\nouter_drop = 0.25\n' + curve(lambda t: -0.5 * 7.5 * SLOPE * t)
    diagnosis = judged(ANGLE + KIT_CAR + left, ANGLE + KIT_CAR + right).diagnosis
    assert kind_of(SideFinding, diagnosis) == ["differ", "changed-over", "slopes"]
    (changed,) = (fact for fact in diagnosis if getattr(fact, "kind", "") == "changed-over")
    assert changed.stacks_mm == pytest.approx(3.75)
    assert changed.height_mm == pytest.approx(7.5, abs=0.05)


def test_minutes_typed_as_degrees_are_asked_about(judged):
    asked = judged(ANGLE + KIT_CAR + curve(lambda t: -13.0 * t / 50.0)).questions
    assert "large-change-in-degrees" in kinds(asked)


def test_minutes_typed_as_seconds_are_asked_about(judged):
    asked = judged(MINUTES + KIT_CAR + curve(lambda t: -13.0 / 60.0 * t / 50.0)).questions
    assert "seconds-of-arc" in kinds(asked)


def test_thirteen_minutes_ask_for_a_cure_and_four_felt_settled(judged):
    tire = KIT_CAR.replace(" }", ", tire_diameter = 660.0 }")
    strict = "aim = { tolerance_deg = 0.03 }\n"
    before, after = (
        judged(MINUTES + tire + strict + curve(lambda t, peak=peak: -peak * t / 50.0)).diagnosis
        for peak in (13.0, 4.0)
    )
    assert (only(Matters, before).kind, only(Matters, before).settled) == ("production", False)
    assert only(Matters, after).settled


def test_a_c_without_any_slope_at_ride_height_is_judged_by_what_it_does_on_the_way(judged):
    # 1.25 deg at 50 mm: 0.0218 rad on 600 mm of tire are 13.1 mm, 0.262 for each mm of travel.
    tire = KIT_CAR.replace(" }", ", tire_diameter = 600.0 }")
    found = only(Matters, judged(ANGLE + tire + curve(lambda t: 1.25 * (t / 50.0) ** 2)).diagnosis)
    assert found.slope_in_per_in == pytest.approx(0.0, abs=5e-4)
    assert found.rate_in_per_in == pytest.approx(0.262, abs=5e-4)
    assert found.kind == "darts"


def test_a_laser_spot_on_one_board_is_warned_of_the_wheel_s_own_arc(judged):
    laser = HEAD + 'kind = "laser"\ntarget_ahead = 3000.0\nreading_grows = "outboard"\n'
    one = judged(laser + KIT_CAR + curve(lambda t: 2.0 - 0.15 * t))
    assert "lone-target" in kinds(one.questions)
    both = laser + "target_behind = 3000.0\n"
    two = judged(both + KIT_CAR + rows(*((t, 0.3 * t, -0.3 * t) for t in range(-50, 51, 10))))
    assert "lone-target" not in kinds(two.questions)
    # 0.6 mm on 6 m for each mm: 1/10000 of a radian
    assert two.measured.toe_slope_deg_per_10mm == pytest.approx(-0.0573, abs=1e-4)


def test_a_lopsided_curve_gets_its_height_first_and_a_c_that_shims_leave(judged):
    # After an inch of bump it toes out fast; an inch of droop is nearly flat.
    found = judged(ANGLE + KIT_CAR + curve(lambda t: -0.005 * t - 0.0001 * t * t)).diagnosis
    shape, height, length = found[:3]
    assert shape in (
        CurveShape(kind="lopsided-slope", way="out"),
        CurveShape(kind="c", way="out"),
    )
    assert (height.arms, height.cure, length.cure) == ("behind", "lower-outer", "lengthen-rod")


def test_a_hand_that_kept_spinning_is_counted_and_judged_by_a_band_that_is_not_zero(judged):
    # A right front that bumps in by 2 deg over 80 mm; the team wants a little bump-out.
    travel = np.arange(-40.0, 41.0, 10.0)
    rear = 500.0 * np.tan(np.radians(0.025 * travel))
    shown = np.round(np.mod(rear, 5.0), 2)
    wanted = "revolution = 5.0\naim = { band = [[-40.0, 0.0, 0.08], [40.0, -0.08, 0.0]] }\n"
    wheel = judged(TWO_DIALS + wanted + rows(*zip(travel, 0.0 * travel, shown, strict=True)))
    assert only(CurveShape, wheel.diagnosis).way == "in"
    assert "turns-added" in kinds(wheel.questions)
    verdict = only(HeldAgainstBand, wheel.diagnosis).verdict
    assert (verdict.outside, verdict.judged, verdict.what) == (8, 9, "readings")
    assert verdict.beyond_deg


def test_a_car_on_bump_stops_is_judged_where_it_runs(judged):
    # Flat at ride height, steep 75 mm down where the car lives.
    def toe(travel: float) -> float:
        return -0.0001 * max(travel - 20.0, 0.0) ** 2

    swept = curve(toe, range(0, 101, 10))
    standing = judged(ANGLE + KIT_CAR + "used = { bump = 25.0, droop = 0.0 }\n" + swept)
    running = judged(
        ANGLE + KIT_CAR + "at_ride_height = 75.0\nused = { bump = 25.0, droop = 25.0 }\n" + swept
    )
    assert only(Matters, standing.diagnosis).kind == "within"
    assert only(HeightError, running.diagnosis).cure == "lower-outer"
    assert -0.2 < running.measured.toe_slope_deg_per_10mm <= -0.1


def test_one_static_reading_is_no_bump_steer_measurement(refused):
    # "Within 1/8 in front to back means corrected" judges static toe.
    plates = 'format = 1\nunits = "in"\nkind = "toe-plates"\nspacing = 24.0\n'
    text = refused(plates + rows((0.0, 58.0, 58.125)))
    assert "must be at two different heights or more" in text
    assert "one reading tells static toe, never how toe changes with travel" in text


def test_toe_in_in_bump_cured_by_lowering_the_outer_contradicts_arms_behind(judged):
    # Joint moved to the knuckle's underside, "and the toe-in in bump was gone".
    before = 'name = "Joint on top"\n' + curve(lambda t: +0.012 * t)
    after = 'name = "Joint below"\nouter_drop = 25.0\n' + curve(lambda t: +0.002 * t)
    wheel = judged(ANGLE + KIT_CAR + before, ANGLE + KIT_CAR + after)
    found = only(Contradiction, wheel.questions)
    assert (found.kind, found.before, found.after) == ("wrong-way", "Joint on top", "Joint below")
    assert (found.height_mm, found.arms, found.went) == (25.0, "behind", "out")
    assert kind_of(Lesson, wheel.diagnosis) == []  # nobody should fit what can't be true
    ahead = KIT_CAR.replace("behind", "ahead")
    asked = judged(ANGLE + ahead + before, ANGLE + ahead + after).questions
    assert "wrong-way" not in kind_of(Contradiction, asked)


def test_a_change_that_did_twice_what_its_height_can_do_is_asked_about(judged):
    before = curve(lambda t: -10.0 * SLOPE * t)
    after = "outer_drop = 3.0\n" + curve(lambda t: -1.0 * SLOPE * t)
    asked = judged(ANGLE + KIT_CAR + before, ANGLE + KIT_CAR + after).questions
    found = only(Contradiction, asked)
    assert (found.kind, found.height_mm) == ("odd-worth", 3.0)
    assert found.as_mm == pytest.approx(9.0, abs=0.05)


@pytest.mark.parametrize(
    ("units", "travel", "slopes", "drop", "worth", "wanted"),
    [
        # Near-standard height: large toe-in in bump. Two spacers: less. How many for some toe-out?
        ("mm", range(-50, 51, 10), (0.020, 0.010), 5.0, -0.0020, 12.5),
        # A quarter of an inch, eight washers of 1/32, takes 0.1 of 0.2 deg per inch.
        ("in", range(-2, 3), (0.2, 0.1), 0.25, -0.1 / 25.4 / 6.35, 12.7),
    ],
)
def test_two_spacer_counts_tell_the_third_without_any_points(
    judged, units, travel, slopes, drop, worth, wanted
):
    gain = -0.05 if units == "mm" else 0.0
    head = ANGLE.replace('"mm"', f'"{units}"') + f"aim = {{ toe_gain_deg_per_10mm = {gain} }}\n"
    none = 'name = "None"\nouter_drop = 0.0\n' + curve(lambda t: slopes[0] * t, travel)
    some = f'name = "Some"\nouter_drop = {drop}\n' + curve(lambda t: slopes[1] * t, travel)
    diagnosis = judged(head + none, head + some).diagnosis
    assert kind_of(CountedFrom, diagnosis) == (["gain"] if gain else [])
    lesson = only(Lesson, diagnosis)
    assert (lesson.before, lesson.after, lesson.units) == ("None", "Some", units)
    assert lesson.worth_deg_per_mm2 == pytest.approx(worth, rel=1e-3)
    assert lesson.wanted_mm == pytest.approx(wanted, rel=1e-3)


def test_a_stack_that_went_from_the_outer_pivot_to_the_rack_is_not_the_same_parts(judged):
    # 17 mm of drop on a rack lowered by 6 mm, then 8 mm on one raised by 3 mm: 11 mm both times.
    low = 'name = "Low"\nouter_drop = 17.0\nrack_raise = -6.0\n' + curve(lambda t: 0.004 * t)
    high = 'name = "High"\nouter_drop = 8.0\nrack_raise = 3.0\n' + curve(lambda t: 0.003 * t)
    wheel = judged(ANGLE + KIT_CAR + low, ANGLE + KIT_CAR + high)
    assert kind_of(Contradiction, wheel.questions) == kind_of(Lesson, wheel.diagnosis) == []


def test_unequal_rods_show_as_a_c_of_one_side_that_total_toe_hides(answered):
    left = 'side = "left"\n' + curve(lambda t: +0.10 * (t / 50.0) ** 2)
    right = 'side = "right"\n' + curve(lambda t: -0.10 * (t / 50.0) ** 2)
    answer = answered(ANGLE + KIT_CAR + left, ANGLE + KIT_CAR + right)
    diagnosis = answer.wheels[0].diagnosis
    assert kind_of(SideFinding, diagnosis) == ["differ", "curvatures"]
    (differ,) = (fact for fact in diagnosis if getattr(fact, "kind", "") == "differ")
    assert (differ.travel_mm, differ.way, differ.other) == (-50.0, "in", "right")
    assert differ.by_deg == pytest.approx(0.2, abs=5e-4)
    sides = answer.sides
    assert (sides.other, sides.travel_mm[-1]) == ("right", 50.0)
    assert sides.mean_toe_change_deg[-1] == pytest.approx(0.0, abs=5e-4)
    assert sides.half_difference_deg[-1] == pytest.approx(0.1, abs=5e-4)


def test_minus_signs_left_out_are_asked_about(judged):
    asked = judged(ANGLE + KIT_CAR + curve(lambda t: abs(-0.006 * t))).questions
    assert "minus-lost" in kinds(asked)


def test_a_20_inch_board_with_a_24_inch_tire_reads_less_than_the_tire_shows(judged):
    inches = 'format = 1\nunits = "in"\nkind = "two-dial"\nspacing = 20.0\n'
    car = 'reading_grows = "outboard"\ncar = { tire_diameter = 24.0, arms = "ahead" }\n'
    wheel = judged(inches + car + rows(*((t, -0.01 * t, 0.01 * t) for t in (-2, -1, 0, 1, 2))))
    found = only(Question, wheel.questions)
    assert found.kind == "gauge-below-tire"
    assert (found.spacing_mm, found.diameter_mm) == pytest.approx((508.0, 609.6))
    # 0.020 in per in on the board is 0.024 at the tire.
    assert wheel.measured.toe_slope_in_per_in == pytest.approx(0.024, abs=5e-5)


def test_travel_by_hub_to_arch_in_inches_is_the_same_sweep(judged):
    by_travel = judged(ANGLE + KIT_CAR + rows(*((25.4 * t, -0.15 * t) for t in (-2, -1, 0, 1, 2))))
    arch = ANGLE.replace('"mm"', '"in"') + 'travel_is = "hub-to-arch"\nat_ride_height = 14.5\n'
    car = 'car = { rod_length = 13.3858, steering_arm = 4.72441, arms = "behind" }\n'
    by_arch = judged(arch + car + rows(*((14.5 - t, -0.15 * t) for t in (-2, -1, 0, 1, 2))))
    for wheel in (by_travel, by_arch):
        found = only(HeightError, wheel.diagnosis)
        assert found.cure == "lower-outer"
        assert found.by_mm == pytest.approx(4.2, abs=0.02)


def test_a_ride_height_that_no_reading_is_near_is_refused(refused):
    # Hub to arch is 350 mm at ride height; 35 was typed.
    arch = ANGLE + 'travel_is = "hub-to-arch"\nat_ride_height = 35.0\n'
    text = refused(arch + rows(*((350.0 - t, -0.01 * t) for t in range(-50, 51, 25))))
    assert "the reading nearest to ride height is at travel -265 mm" in text
    assert "is at_ride_height right, or are these heights of the hub, which travel_is says?" in text


def test_caster_changed_between_two_sweeps_is_noticed(judged):
    before = 'name = "Before"\n' + curve(lambda t: -0.010 * t)
    after = 'name = "After"\n' + curve(lambda t: -0.006 * t)
    found = only(Contradiction, judged(ANGLE + KIT_CAR + before, ANGLE + KIT_CAR + after).questions)
    assert (found.kind, found.before, found.after) == ("same-parts", "Before", "After")
    assert found.by_deg_per_10mm == pytest.approx(0.04, abs=5e-4)


def test_play_is_found_before_anyone_shims(judged):
    up = [(t, -0.004 * t + 0.02) for t in range(-50, 51, 10)]
    down = [(t, -0.004 * t - 0.02) for t in range(40, -51, -10)]
    asked = judged(ANGLE + KIT_CAR + rows(*up, *down)).questions
    (play,) = (fact for fact in asked if getattr(fact, "kind", "") == "play")
    assert play.by_deg == pytest.approx(0.04, abs=5e-4)


def test_travel_that_was_not_swept_is_not_judged(judged):
    used = "used = { bump = 70.0, droop = 50.0 }\n"
    wheel = judged(ANGLE + KIT_CAR + used + curve(lambda t: -0.001 * t, range(-50, 31, 10)))
    short = only(ShortStroke, wheel.questions)
    assert (short.stroke, short.used_mm, short.swept_mm) == ("bump", 70.0, 30.0)
    assert only(Matters, wheel.diagnosis).kind == "within-as-swept"


def test_of_a_stroke_that_was_not_swept_nothing_is_said(judged):
    up = judged(ANGLE + KIT_CAR + curve(lambda t: -0.006 * t, range(0, 51, 10)))
    assert up.diagnosis[0] == CurveShape(kind="bump", way="out")
    down = judged(ANGLE + KIT_CAR + curve(lambda t: -0.006 * t + 4e-4 * t * t, range(-50, 1, 10)))
    assert down.diagnosis[0] == CurveShape(kind="droop", way="in")


def test_raising_the_rack_and_resetting_toe_at_once_are_told_apart(judged):
    # Only the rack changes the curve; static toe is the gauge's zero.
    toed_out = curve(lambda t: -0.2 - 7.0 * SLOPE * t)
    toed_in = "rack_raise = 7.0\n" + curve(lambda t: 0.1 + 0.0 * t)
    diagnosis = judged(ANGLE + KIT_CAR + toed_out, ANGLE + KIT_CAR + toed_in).diagnosis
    assert only(Lesson, diagnosis).wanted_mm == pytest.approx(7.0, abs=0.05)
    assert diagnosis[0] == CurveShape(kind="keeps")


def test_left_and_right_are_each_held_against_the_maker_s_shaded_band(judged):
    band = "aim = { band = [[-50.0, -0.1, 0.1], [50.0, -0.1, 0.1]] }\n"
    left = 'side = "left"\n' + band + curve(lambda t: -0.001 * t)
    right = 'side = "right"\n' + band + curve(lambda t: -0.003 * t)
    diagnosis = judged(ANGLE + KIT_CAR + left, ANGLE + KIT_CAR + right).diagnosis
    this, other = (fact for fact in diagnosis if isinstance(fact, HeldAgainstBand))
    assert (this.side, this.verdict.outside, this.verdict.judged) == (None, 0, 11)
    assert (other.side, other.verdict.outside, other.verdict.judged) == ("right", 4, 11)
