"""Situations of the trade, end to end: readings typed as people type them, and what comes out.

The figures are invented; what goes wrong in each is what goes wrong in real garages (common
practice, no source).  Cars whose points are known are in test_situations_with_points.
"""

import numpy as np

from .typed import ANGLE, HEAD, KIT_CAR, MINUTES, TWO_DIALS, curve, rows


def test_a_rack_nine_millimeters_low_is_named_from_readings_and_two_lengths(told):
    # The club says "about 9 mm, rack too low"; one sweep without any points confirms it.
    worth = np.degrees(1.0 / (340.0 * 120.0)) * 60.0  # minutes per mm of travel and mm of height
    text = told(MINUTES + KIT_CAR + curve(lambda t: -9.0 * worth * t))
    assert "lower the outer pivot or raise the rack, by about 9.0 mm" in text
    assert "1 mm is worth 2.1 minutes per 25.0 mm of travel" in text
    assert "Shims can't cure" not in text


def test_where_the_rack_is_already_too_high_the_club_s_nine_millimeters_would_be_wrong(told):
    # Right front, a 4 mm spacer under the rack; cured by taking it out.
    worth = np.degrees(1.0 / (340.0 * 120.0)) * 60.0
    fitted = 'side = "right"\nrack_raise = 4.0\n'
    text = told(MINUTES + fitted + KIT_CAR + curve(lambda t: 4.0 * worth * t))
    assert "toes in in bump and toes out in droop" in text
    assert (
        "raise the outer pivot or lower the rack, by about 4.0 mm from what is fitted now" in text
    )


def test_a_rod_three_millimeters_short_does_not_matter(told):
    # Days spent looking for a rack 7 mm wider, for a minute and a half at 50 mm.
    text = told(MINUTES + KIT_CAR + curve(lambda t: -1.5 * (t / 50.0) ** 2))
    assert "It does not matter: toe stays within the tolerance" in text
    assert "Shims can't cure" not in text


def test_shims_on_the_wrong_sides_are_found_by_comparing_both_wheels(told):
    # The sides need stacks 3.75 mm apart; they have them, but the other way round.
    slope = np.degrees(1.0 / (340.0 * 120.0))  # per mm of travel and mm of height
    left = 'side = "left"\nouter_drop = 4.0\n' + curve(lambda t: +0.5 * 7.5 * slope * t)
    right = 'side = "right"\nouter_drop = 0.25\n' + curve(lambda t: -0.5 * 7.5 * slope * t)
    text = told(ANGLE + KIT_CAR + left, ANGLE + KIT_CAR + right)
    assert "The stacks differ by 3.8 mm" in text
    assert "as 7.5 mm of height would make them: changed over, the sides would agree" in text
    assert "Were the shims fitted on the wrong sides?" in text
    assert "Each side needs a stack of its own" in text


def test_minutes_typed_as_degrees_are_asked_about(told):
    text = told(ANGLE + KIT_CAR + curve(lambda t: -13.0 * t / 50.0))
    assert 'are these minutes typed as degrees (angle_unit = "min")?' in text


def test_minutes_typed_as_seconds_are_asked_about(told):
    text = told(MINUTES + KIT_CAR + curve(lambda t: -13.0 / 60.0 * t / 50.0))
    assert "were minutes written down as seconds" in text


def test_thirteen_minutes_ask_for_a_cure_and_four_felt_settled(told):
    tire = KIT_CAR.replace(" }", ", tire_diameter = 660.0 }")
    strict = "aim = { tolerance_deg = 0.03 }\n"
    before = told(MINUTES + tire + strict + curve(lambda t: -13.0 * t / 50.0))
    after = told(MINUTES + tire + strict + curve(lambda t: -4.0 * t / 50.0))
    assert "about what production cars have" in before
    assert "felt settled" not in before
    assert "under 5 minutes felt settled to kit-car builders" in after


def test_a_c_without_any_slope_at_ride_height_is_judged_by_what_it_does_on_the_way(told):
    # 1.25 deg at 50 mm: 0.0218 rad on 600 mm of tire are 13.1 mm, 0.262 for each mm of travel.
    tire = KIT_CAR.replace(" }", ", tire_diameter = 600.0 }")
    text = told(ANGLE + tire + curve(lambda t: 1.25 * (t / 50.0) ** 2))
    assert "At 0.000 in per in at ride height, but up to 0.262 on the way" in text
    assert "it is more than production cars have" in text
    assert "inside what racers accept" not in text


def test_a_laser_spot_on_one_board_is_warned_of_the_wheel_s_own_arc(told):
    laser = HEAD + 'kind = "laser"\ntarget_ahead = 3000.0\nreading_grows = "outboard"\n'
    text = told(laser + KIT_CAR + curve(lambda t: 2.0 - 0.15 * t))
    assert "One target on its own also sees the wheel move sideways" in text
    both = laser + "target_behind = 3000.0\n"
    text = told(both + KIT_CAR + rows(*((t, 0.3 * t, -0.3 * t) for t in range(-50, 51, 10))))
    assert "One target on its own" not in text
    # 0.6 mm on 6 m for each mm: 1/10000 of a radian
    assert "Slope -0.057 deg per 10 mm" in text


def test_a_lopsided_curve_gets_its_height_first_and_a_c_that_shims_leave(told):
    # After an inch of bump it toes out fast; an inch of droop is nearly flat.
    text = told(ANGLE + KIT_CAR + curve(lambda t: -0.005 * t - 0.0001 * t * t))
    assert "toes out in bump and toes in in droop, lopsidedly" in text or "(a C)" in text
    assert "That slope is a height error (steering arms behind the axle): lower the outer" in text
    assert "Shims can't cure the part that goes the same way" in text
    assert "the tie rod is too short" in text


def test_a_hand_that_kept_spinning_is_counted_and_judged_by_a_band_that_is_not_zero(told):
    # A right front that bumps in by 2 deg over 80 mm; the team wants a little bump-out.
    travel = np.arange(-40.0, 41.0, 10.0)
    rear = 500.0 * np.tan(np.radians(0.025 * travel))
    shown = np.round(np.mod(rear, 5.0), 2)
    wanted = "revolution = 5.0\naim = { band = [[-40.0, 0.0, 0.08], [40.0, -0.08, 0.0]] }\n"
    sweep = TWO_DIALS + wanted + rows(*zip(travel, 0.0 * travel, shown, strict=True))
    text = told(sweep)
    assert "toes in in bump and toes out in droop" in text
    assert "Turns of the hand that the dial does not show were added to" in text
    assert "outside the wanted band at 8 of 9 readings, most at travel" in text
    assert "more toe-in than it allows" in text or "more toe-out than it allows" in text


def test_a_car_on_bump_stops_is_judged_where_it_runs(told):
    # Flat at ride height, steep 75 mm down where the car lives.
    def toe(travel: float) -> float:
        return -0.0001 * max(travel - 20.0, 0.0) ** 2

    swept = curve(toe, range(0, 101, 10))
    standing = told(ANGLE + KIT_CAR + "used = { bump = 25.0, droop = 0.0 }\n" + swept)
    running = told(
        ANGLE + KIT_CAR + "at_ride_height = 75.0\nused = { bump = 25.0, droop = 25.0 }\n" + swept
    )
    assert "It does not matter" in standing
    assert "lower the outer pivot or raise the rack" in running
    assert "Slope -0.1" in running


def test_one_static_reading_is_no_bump_steer_measurement(told):
    # "Within 1/8 in front to back means corrected" judges static toe.
    plates = 'format = 1\nunits = "in"\nkind = "toe-plates"\nspacing = 24.0\n'
    text = told(plates + rows((0.0, 58.0, 58.125)), code=2)
    assert "must be at three different heights or more" in text
    assert "one reading tells static toe, never how toe changes with travel" in text


def test_toe_in_in_bump_cured_by_lowering_the_outer_contradicts_arms_behind(told):
    # Joint moved to the knuckle's underside, "and the toe-in in bump was gone".
    before = 'name = "Joint on top"\n' + curve(lambda t: +0.012 * t)
    after = 'name = "Joint below"\nouter_drop = 25.0\n' + curve(lambda t: +0.002 * t)
    text = told(ANGLE + KIT_CAR + before, ANGLE + KIT_CAR + after)
    assert (
        'From "Joint on top" to "Joint below" the outer pivot was lowered (or the rack raised) by '
        "25.0 mm. With steering arms behind the axle that turns the curve toward toe-in in bump, "
        "but the readings went toward toe-out." in text
    )
    assert "One of these is wrong: the place of the arms, the sign of toe" in text
    assert "the slope is as wanted at" not in text  # nobody should fit what can't be true
    ahead = KIT_CAR.replace("behind", "ahead")
    assert "One of these is wrong" not in told(ANGLE + ahead + before, ANGLE + ahead + after)


def test_a_change_that_did_twice_what_its_height_can_do_is_asked_about(told):
    slope = np.degrees(1.0 / (340.0 * 120.0))
    before = curve(lambda t: -10.0 * slope * t)
    after = "outer_drop = 3.0\n" + curve(lambda t: -1.0 * slope * t)
    text = told(ANGLE + KIT_CAR + before, ANGLE + KIT_CAR + after)
    assert "changed as 9.0 mm of height would change it, but the stacks differ by 3.0 mm" in text


def test_two_spacer_counts_tell_the_third_for_a_wanted_curve_without_any_points(told):
    # Near-standard height: large toe-in in bump. Two spacers: less. How many for some toe-out?
    aim = "aim = { toe_gain_deg_per_10mm = -0.05 }\n"
    none = 'name = "No spacer"\nouter_drop = 0.0\n' + curve(lambda t: 0.020 * t)
    two = 'name = "Two spacers"\nouter_drop = 5.0\n' + curve(lambda t: 0.010 * t)
    text = told(ANGLE + aim + none, ANGLE + aim + two)
    assert "All of this counts beyond the wanted gain of -0.050 deg per 10 mm." in text
    assert "each 1 mm of outer drop plus rack raise was worth -0.0200 deg per 10 mm;" in text
    assert "the slope is as wanted at 12.5 mm, counted from the standard seat" in text


def test_what_a_washer_was_worth_is_told_per_inch_of_travel_in_inches(told):
    # A quarter of an inch, eight washers of 1/32, takes 0.1 of 0.2 deg per inch.
    inches = ANGLE.replace('"mm"', '"in"')
    none = 'name = "None"\n' + curve(lambda t: 0.2 * t, range(-2, 3))
    some = 'name = "Some"\nouter_drop = 0.25\n' + curve(lambda t: 0.1 * t, range(-2, 3))
    text = told(inches + none, inches + some)
    assert "each 1/32 in of outer drop plus rack raise was worth -0.0125 deg per inch;" in text
    assert "the slope is as wanted at 0.500 in, counted from the standard seat" in text


def test_a_stack_that_went_from_the_outer_pivot_to_the_rack_is_not_the_same_parts(told):
    # 17 mm of drop on a rack lowered by 6 mm, then 8 mm on one raised by 3 mm: 11 mm both times.
    low = 'name = "Low"\nouter_drop = 17.0\nrack_raise = -6.0\n' + curve(lambda t: 0.004 * t)
    high = 'name = "High"\nouter_drop = 8.0\nrack_raise = 3.0\n' + curve(lambda t: 0.003 * t)
    text = told(ANGLE + KIT_CAR + low, ANGLE + KIT_CAR + high)
    assert "have the same parts fitted" not in text
    assert "was worth" not in text


def test_unequal_rods_show_as_a_c_of_one_side_that_total_toe_hides(told):
    left = 'side = "left"\n' + curve(lambda t: +0.10 * (t / 50.0) ** 2)
    right = 'side = "right"\n' + curve(lambda t: -0.10 * (t / 50.0) ** 2)
    text = told(ANGLE + KIT_CAR + left, ANGLE + KIT_CAR + right)
    assert "The sides differ: at travel -50 mm this wheel toes in by 0.200 deg more" in text
    assert "tie rods of unequal length, a rack that is not centered, or a bent arm" in text
    assert "Their slopes differ" not in text
    assert "This wheel and the right one" in text  # mean 0, half difference 0.1
    assert "+50.0 0.000 +0.100" in text


def test_minus_signs_left_out_are_asked_about(told):
    text = told(ANGLE + KIT_CAR + curve(lambda t: abs(-0.006 * t)))
    assert "did the minus signs get lost on one side?" in text


def test_a_20_inch_board_with_a_24_inch_tire_reads_less_than_the_tire_shows(told):
    inches = 'format = 1\nunits = "in"\nkind = "two-dial"\nspacing = 20.0\n'
    car = 'reading_grows = "outboard"\ncar = { tire_diameter = 24.0, arms = "ahead" }\n'
    text = told(inches + car + rows(*((t, 0.0, 0.02 * t) for t in (-2, -1, 0, 1, 2))))
    assert "The gauge reads over 20 in, the tire is 24 in" in text
    assert "at the tire every toe distance is 1.20 times what the gauge shows" in text
    # 0.020 in per in on the board is 0.024 at the tire.
    assert "(+0.0240 in per in at 24.000 in diameter)" in text


def test_travel_by_hub_to_arch_in_inches_is_the_same_sweep(told):
    by_travel = told(ANGLE + KIT_CAR + rows(*((25.4 * t, -0.15 * t) for t in (-2, -1, 0, 1, 2))))
    arch = ANGLE.replace('"mm"', '"in"') + 'travel_is = "hub-to-arch"\nat_ride_height = 14.5\n'
    car = 'car = { rod_length = 13.3858, steering_arm = 4.72441, arms = "behind" }\n'
    by_arch = told(arch + car + rows(*((14.5 - t, -0.15 * t) for t in (-2, -1, 0, 1, 2))))
    assert "lower the outer pivot or raise the rack, by about 4.2 mm" in by_travel
    assert "lower the outer pivot or raise the rack, by about 0.166 in" in by_arch


def test_a_ride_height_that_no_reading_is_near_is_refused(told):
    # Hub to arch is 350 mm at ride height; 35 was typed.
    arch = ANGLE + 'travel_is = "hub-to-arch"\nat_ride_height = 35.0\n'
    text = told(arch + rows(*((350.0 - t, -0.01 * t) for t in range(-50, 51, 25))), code=2)
    assert "the reading nearest to ride height is at travel -265 mm" in text
    assert "is at_ride_height right?" in text


def test_caster_changed_between_two_sweeps_is_noticed(told):
    before = 'name = "Before"\n' + curve(lambda t: -0.010 * t)
    after = 'name = "After"\n' + curve(lambda t: -0.006 * t)
    text = told(ANGLE + KIT_CAR + before, ANGLE + KIT_CAR + after)
    assert '"Before" and "After" have the same parts fitted, yet their slopes differ by' in text
    assert "have ride height, caster, camber or the gauge changed in between" in text


def test_play_is_found_before_anyone_shims(told):
    up = [(t, -0.004 * t + 0.02) for t in range(-50, 51, 10)]
    down = [(t, -0.004 * t - 0.02) for t in range(40, -51, -10)]
    text = told(ANGLE + KIT_CAR + rows(*up, *down))
    assert "Up and down strokes differ by 0.040 deg: look for play or stiction" in text


def test_travel_that_was_not_swept_is_not_judged(told):
    used = "used = { bump = 70.0, droop = 50.0 }\n"
    text = told(ANGLE + KIT_CAR + used + curve(lambda t: -0.001 * t, range(-50, 31, 10)))
    assert "The car uses 70 mm of bump, but only 30 mm of it was swept" in text
    assert "It does not matter" in text


def test_of_a_stroke_that_was_not_swept_nothing_is_said(told):
    up = told(ANGLE + KIT_CAR + curve(lambda t: -0.006 * t, range(0, 51, 10)))
    assert "The wheel toes out in bump; droop is not judged." in up
    assert "toes in in droop" not in up
    down = told(ANGLE + KIT_CAR + curve(lambda t: -0.006 * t + 4e-4 * t * t, range(-50, 1, 10)))
    assert "The wheel toes in in droop; bump is not judged." in down


def test_raising_the_rack_and_resetting_toe_at_once_are_told_apart(told):
    # Only the rack changes the curve; static toe is the gauge's zero.
    slope = np.degrees(1.0 / (340.0 * 120.0))
    toed_out = curve(lambda t: -0.2 - 7.0 * slope * t)
    toed_in = "rack_raise = 7.0\n" + curve(lambda t: 0.1 + 0.0 * t)
    text = told(ANGLE + KIT_CAR + toed_out, ANGLE + KIT_CAR + toed_in)
    assert "the slope is as wanted at 7.0 mm, counted from the standard seat" in text
    assert "The wheel keeps its toe within the wanted tolerance." in text


def test_left_and_right_are_each_held_against_the_maker_s_shaded_band(told):
    band = "aim = { band = [[-50.0, -0.1, 0.1], [50.0, -0.1, 0.1]] }\n"
    left = 'side = "left"\n' + band + curve(lambda t: -0.001 * t)
    right = 'side = "right"\n' + band + curve(lambda t: -0.003 * t)
    text = told(ANGLE + KIT_CAR + left, ANGLE + KIT_CAR + right)
    assert "The curve is inside the wanted band at all 11 readings that it covers." in text
    assert "The right wheel's curve is outside the wanted band at 4 of 11 readings" in text
