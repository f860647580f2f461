"""What parts two wheels: each cause from a car built for it, and what the tape explains is none."""

import re

import pytest

from optimizer.answers.comparison import compared
from optimizer.car.subject import subject_of
from optimizer.units import MM_PER
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.case_texts import GOOD_CASES
from tests.optimizer.two_sided_cars import (
    DEMO,
    LENGTH_ATOL_MM,
    MIRRORED_TEXT,
    car_of,
    mirror_car_text,
    moved,
    with_sides_changed_over,
    with_tape,
)

ANGLE_ATOL_DEG = 1e-9
PRINTED_ATOL_DEG = 0.0006  # half a unit of the last printed digit, and rounding of both
POINT_OF_LAYOUT = {
    "strut": "lower_arm_front",
    "double-wishbone": "upper_ball_joint",
    "twin-link-strut": "link_2_inner",
    "five-link": "link_3_outer",
}
EXACT = with_tape(MIRRORED_TEXT, 0.3)  # a surface plate: every millimeter tells


def causes(text):
    """The sentences of all causes."""
    car = car_of(text)
    reader = Reader(subject_of(car))
    return [sentence(cause, reader) for cause in compared(car).causes]


def differences(cause):
    """What the wheels would differ by without a cause, and what they do. [deg]."""
    left_over, now = re.findall(r"(\d+\.\d+) instead of (\d+\.\d+) deg", cause)[0]
    return float(left_over), float(now)


def both_inner(by_left, by_right):
    return moved(moved(EXACT, "left", "tie_rod_inner", by_left), "right", "tie_rod_inner", by_right)


def test_mirror_images_are_alike_and_nothing_is_blamed():
    found = compared(car_of(MIRRORED_TEXT))
    assert found.alike
    assert found.causes == []
    assert found.peak_toe_difference_deg == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


@pytest.mark.parametrize(("layout", "point"), POINT_OF_LAYOUT.items())
def test_a_mirror_car_of_any_layout_is_alike_until_a_point_is_moved(layout, point):
    text = with_tape(mirror_car_text(GOOD_CASES[layout].read_text(encoding="utf-8")), 0.3)
    car = car_of(text)
    found = compared(car)
    assert found.alike
    assert found.peak_toe_difference_deg == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)
    (cause,) = compared(car_of(moved(text, "right", point, (0.0, 0.0, -4.0)))).causes
    assert (cause.kind, cause.point) == ("point", point)
    (apart,) = cause.apart
    assert (apart.axis, apart.by_mm) == ("z", pytest.approx(4.0 * MM_PER[car.case.units]))
    assert cause.without_deg == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


def test_a_rack_off_center_is_told_with_how_far_and_to_which_side():
    found = causes(both_inner((0.0, 4.0, 0.0), (0.0, 4.0, 0.0)))
    rack = next(text for text in found if "off center" in text)
    assert rack.startswith("The rack is off center by 4.0 mm to the left.")
    assert differences(rack)[0] == 0.0
    found = causes(both_inner((0.0, -2.5, 0.0), (0.0, -2.5, 0.0)))
    assert any("off center by 2.5 mm to the right" in text for text in found)


def test_a_rack_off_center_makes_unequal_rods_and_both_are_told():
    found = causes(both_inner((0.0, 4.0, 0.0), (0.0, 4.0, 0.0)))
    rods = next(text for text in found if text.startswith("The tie rods are unequal"))
    left, right = (float(x) for x in re.findall(r"(\d+\.\d) mm (?:left|right)", rods))
    assert right - left == pytest.approx(8.0, abs=0.1)
    assert "within 1.5 mm to 5 mm" in rods


def test_a_rack_that_is_not_level_is_told():
    found = causes(both_inner((0.0, 0.0, 1.5), (0.0, 0.0, -1.5)))
    assert found[0].startswith("The rack is not level: its left pivot lies 3.0 mm higher.")
    left_over, now = differences(found[0])
    assert left_over == 0.0
    assert now > 0.1


def test_a_rack_askew_is_told():
    found = causes(both_inner((0.0, 0.0, 0.0), (12.0, 0.0, 0.0)))
    assert any("askew: its right pivot lies 12.0 mm farther ahead" in text for text in found)


def test_unequal_heights_of_the_outer_pivots_on_a_car_alike_otherwise_are_unequal_stacks():
    (cause,) = causes(moved(EXACT, "right", "tie_rod_outer", (0.0, 0.0, 3.0)))
    assert cause.startswith("The right outer pivot sits 3.0 mm higher: unequal stacks")
    assert differences(cause)[0] == 0.0


def test_shims_are_said_to_be_on_the_wrong_side_where_changing_them_over_makes_the_sides_agree():
    # The right inner pivot is 4 mm higher: the right outer one belongs about 4 mm higher too.
    rack = moved(EXACT, "right", "tie_rod_inner", (0.0, 0.0, 4.0))
    wrong = moved(rack, "left", "tie_rod_outer", (0.0, 0.0, 4.0))
    found = causes(wrong)
    assert "were the shims fitted on the wrong sides?" in found[0]
    left_over, now = differences(found[0])
    assert left_over < 0.35 * now
    right = moved(rack, "right", "tie_rod_outer", (0.0, 0.0, 4.0))
    assert not any("wrong sides" in text for text in causes(right))
    assert compared(car_of(right)).peak_toe_difference_deg == pytest.approx(
        left_over, abs=PRINTED_ATOL_DEG
    )


def test_a_steering_arm_of_another_length_is_told():
    found = causes(moved(EXACT, "left", "tie_rod_outer", (-6.0, 0.0, 0.0)))
    arms = next(text for text in found if text.startswith("The steering arms differ"))
    assert "the left outer pivot lies 6.0 mm behind" in arms


def test_a_point_that_the_tape_does_not_explain_is_to_be_measured_again():
    found = causes(moved(EXACT, "right", "strut_top", (9.0, 0.0, 0.0)))
    assert any(
        text.startswith("strut_top lies 9.0 mm behind on the left") and "measure it again" in text
        for text in found
    )
    assert not any("tie rod" in text or "rack" in text for text in found)


@pytest.mark.parametrize(("by", "told"), [(2.5, False), (3.5, True)])
def test_a_point_is_told_beyond_three_standard_deviations_of_the_difference(by, told):
    text = with_tape(MIRRORED_TEXT, 2.0**-0.5)  # of one wheel; of the difference 1 mm
    found = causes(moved(text, "left", "lower_arm_rear", (0.0, 0.0, by)))
    assert any("lower_arm_rear" in cause for cause in found) == told


def test_what_the_tape_explains_is_no_cause():
    found = compared(
        car_of(moved(with_tape(MIRRORED_TEXT, 5.0), "left", "tie_rod_inner", (0, 0, 2)))
    )
    assert found.causes == []
    assert found.alike
    assert 0.03 < found.peak_toe_difference_deg < found.tape_alone_deg


def test_a_difference_without_a_single_cause_says_so():
    text = with_tape(MIRRORED_TEXT, 1.0)
    for side, sign in (("left", 1.0), ("right", -1.0)):
        text = moved(text, side, "tie_rod_inner", (0.0, 0.0, 1.3 * sign))
        for name in ("lower_arm_front", "lower_arm_rear"):
            text = moved(text, side, name, (0.0, 0.0, -2.0 * sign))
    found = compared(car_of(text))
    assert not found.alike
    (cause,) = found.causes
    assert (cause.kind, cause.peak_deg) == ("no-single-one", found.peak_toe_difference_deg)
    assert causes(text)[0].startswith("No single point differs by more than the tape explains")


def test_an_origin_off_the_center_plane_is_no_difference_of_the_wheels():
    text = EXACT
    names = re.findall(r"^(\w+) = \[", text.partition("[right.points]")[0], re.M)
    for side in ("left", "right"):
        for name in names:
            text = moved(text, side, name, (0.0, 7.0, 0.0))
    found = compared(car_of(text))
    assert found.alike
    assert found.peak_toe_difference_deg == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


def test_unlike_cambers_are_told_last():
    text = moved(EXACT, "right", "tie_rod_outer", (0.0, 0.0, 3.0))
    found = causes(text + "\n[left.wheel]\ncamber_deg = -2.0\n")
    assert found[-1].startswith("Camber differs: -2.00 deg left, -1.20 deg right")
    assert not any("Camber" in cause for cause in causes(text))


def test_the_likeliest_cause_comes_first():
    found = causes(with_tape(DEMO.read_text(encoding="utf-8"), 0.3))
    left_over = [differences(cause)[0] for cause in found]
    assert len(found) >= 4
    assert left_over == sorted(left_over)
    assert len({differences(cause)[1] for cause in found}) == 1


def test_changing_the_sides_over_changes_the_sides_of_the_causes():
    text = DEMO.read_text(encoding="utf-8")
    here, there = (compared(car_of(one)) for one in (text, with_sides_changed_over(text)))
    assert there.peak_toe_difference_deg == pytest.approx(
        here.peak_toe_difference_deg, abs=ANGLE_ATOL_DEG
    )
    for mine, theirs in zip(here.causes, there.causes, strict=True):
        assert mine.kind == theirs.kind
        assert (mine.left_mm, mine.right_mm) == pytest.approx((theirs.right_mm, theirs.left_mm))
        for one, other in zip(mine.apart, theirs.apart, strict=True):
            assert other.by_mm == pytest.approx(-one.by_mm)
    assert len(here.causes) == 4


@pytest.mark.parametrize("by", [0.0, LENGTH_ATOL_MM])
def test_points_known_exactly_blame_no_rounding(by):
    text = moved(with_tape(MIRRORED_TEXT, 0.0), "left", "tie_rod_inner", (by, 0.0, by))
    assert compared(car_of(text)).causes == []
