"""Camber and caster set after lowering: against a car solved by SciPy, and cases by hand."""

import tomllib
from typing import Any

import numpy as np
import pytest

from optimizer.car.alignment import aligned_case, alignment_of
from optimizer.files.case_file import read_case
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from tests.optimizer.case_texts import GOOD_CASES
from tests.optimizer.command_line import changed
from tests.optimizer.one_wheel import curve_of
from tests.optimizer.wished_cars import (
    NAMES,
    STRUT,
    WISHES,
    measured,
    moved_car,
    static_toe_deg,
    wishing,
)

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
# SciPy leaves up to 1e-9 mm open.
SAME_TOE_ATOL_DEG = 1e-9


@pytest.fixture(params=WISHES, ids=NAMES)
def wished(request: pytest.FixtureRequest) -> Case:
    """A demo car with an alignment asked for, in turn."""
    return wishing(*request.param)


def assert_met(case: Case) -> None:
    found = curve_of(case, CurveRequest(bump=0.0, droop=10.0))
    at_ride_height = {"camber_deg": found.camber_deg[-1], "caster_deg": found.caster_deg[-1]}
    wanted = {key: getattr(case.alignment, key) for key in at_ride_height}
    for key, wish in wanted.items():
        assert getattr(found.alignment, key) == pytest.approx(
            at_ride_height[key], rel=0.0, abs=ANGLE_ATOL_DEG
        )
        if wish is not None:
            assert at_ride_height[key] == pytest.approx(wish, rel=0.0, abs=ANGLE_ATOL_DEG)
    assert found.toe_deg[-1] == pytest.approx(static_toe_deg(case), rel=0.0, abs=ANGLE_ATOL_DEG)


# --- the wanted values


@pytest.mark.parametrize("lowered_by", [0.0, 40.0])
@pytest.mark.parametrize(("path", "wish"), WISHES, ids=NAMES)
def test_the_wanted_angles_are_met_at_ride_height(path, wish, lowered_by):
    assert_met(wishing(path, wish, lowered_by=lowered_by))


def test_camber_by_the_strut_top_and_caster_by_shims_are_met(wished):
    car = moved_car(wished)
    posed = car.pose(wished.ride.lowered_by, toe_deg=static_toe_deg(wished))
    for key in ("camber_deg", "caster_deg"):
        wish = getattr(wished.alignment, key)
        on_links = "lower_ball_joint" not in car.points  # no ball joints mark their steering axis
        if wish is not None and not (on_links and key == "caster_deg"):
            assert getattr(posed, key) == pytest.approx(wish, rel=0.0, abs=ANGLE_ATOL_DEG)


def test_only_what_sets_a_wanted_angle_is_moved(wished):
    answer = alignment_of(wished)[1]
    by = np.array([part.by_mm for part in answer.moved]).reshape(-1, 3)
    asked = wished.alignment
    assert (by[:, 2] == 0.0).all()
    if asked.by == "strut-bolts":
        assert not by.size
        return
    if asked.by == "strut-top":
        assert [bool(x) for x in by[0, :2]] == [
            asked.caster_deg is not None,
            asked.camber_deg is not None,
        ]
        return
    assert (by[:, 0] == 0.0).all()
    front, rear = by[:, 1]
    if asked.caster_deg is None:
        assert front == rear
    elif asked.camber_deg is None:
        assert front == -rear


def mirrored(table: dict[str, Any]) -> dict[str, Any]:
    """The same car's other wheel: every y the other way."""

    def other(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: other(item) for key, item in value.items()}
        if isinstance(value, list) and len(value) == 3 and isinstance(value[0], float):
            return [value[0], -value[1], value[2]]
        return [other(item) for item in value] if isinstance(value, list) else value

    lists_of_lengths = {key: table[key] for key in ("rack", "custom_pivot") if key in table}
    return other(table) | lists_of_lengths


@pytest.mark.parametrize(("path", "wish"), WISHES, ids=NAMES)
def test_a_right_wheel_is_aligned_as_the_left_one_s_mirror_image(path, wish):
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    if "bolt" in wish:
        wish = wish | {"bolt": list(wish["bolt"])}
    left, right = (
        Case.model_validate(one)
        for one in (table | {"alignment": wish}, mirrored(table | {"alignment": wish}))
    )
    (of_left, one), (of_right, other) = alignment_of(left), alignment_of(right)
    assert one.what_to_move == other.what_to_move
    for part, twin in zip(one.moved, other.moved, strict=True):
        x, y, z = part.by_mm
        assert twin.by_mm == pytest.approx((x, -y, z), rel=0.0, abs=LENGTH_ATOL_MM)
    for now, twin in zip(of_left.obstacles, of_right.obstacles, strict=True):
        if hasattr(now, "start"):
            x, y, z = now.start
            assert twin.start == pytest.approx((x, -y, z), rel=0.0, abs=LENGTH_ATOL_MM)
    np.testing.assert_allclose(
        curve_of(left).toe_deg, curve_of(right).toe_deg, rtol=0.0, atol=ANGLE_ATOL_DEG
    )


@pytest.mark.parametrize("by", ["strut-top", "strut-bolts"])
def test_a_case_in_inches_is_aligned_like_its_twin_in_millimeters(tmp_path, by):
    found = []
    for name, unit in (("strut", 1.0), ("strut_inches", 25.4)):
        bolt = f"bolt = [{-20.32 / unit}, {660.4 / unit}, {350.52 / unit}]"
        more = bolt if by == "strut-bolts" else f"caster_deg = 4.4\nmost = {38.1 / unit}"
        text = changed(GOOD_CASES[name], r"^drop = .*", f"drop = {25.4 / unit}")
        path = tmp_path / f"{name}.toml"
        path.write_text(f'{text}\n[alignment]\nby = "{by}"\ncamber_deg = -2.4\n{more}\n')
        found.append(read_case(path))
    one, other = found
    assert other.alignment.most == pytest.approx(one.alignment.most)
    for part, twin in zip(alignment_of(one)[1].moved, alignment_of(other)[1].moved, strict=True):
        assert twin.by_mm == pytest.approx(part.by_mm, rel=0.0, abs=LENGTH_ATOL_MM)
    np.testing.assert_allclose(
        curve_of(one).toe_deg, curve_of(other).toe_deg, rtol=0.0, atol=ANGLE_ATOL_DEG
    )


@pytest.mark.parametrize(("path", "wish"), WISHES, ids=NAMES)
def test_wanting_what_the_car_has_changes_nothing(path, wish):
    case = wishing(path, wish)
    answer = alignment_of(case)[1]
    now = {"camber_deg": answer.camber_before_deg, "caster_deg": answer.caster_before_deg}
    same = wishing(path, wish | {key: now[key] for key in now if key in wish})
    aligned, still = alignment_of(same)
    for part in still.moved:
        assert part.by_mm == pytest.approx((0.0, 0.0, 0.0), abs=LENGTH_ATOL_MM)
    assert still.turn_deg is None or abs(still.turn_deg) < ANGLE_ATOL_DEG
    for name, point in case.points.model_dump().items():
        assert getattr(aligned.points, name) == pytest.approx(point, rel=0.0, abs=LENGTH_ATOL_MM)
    np.testing.assert_allclose(
        curve_of(same).toe_deg, curve_of(measured(case)).toe_deg, rtol=0.0, atol=ANGLE_ATOL_DEG
    )


# --- the toe curve


def test_the_toe_curve_is_that_of_the_moved_car_solved_by_scipy(wished):
    car, toe = moved_car(wished), static_toe_deg(wished)
    home = wished.ride.lowered_by
    rod = car.pose(home, toe_deg=toe).rod_length
    found = curve_of(wished)
    expected = [car.pose(home + travel, rod=rod).toe_deg for travel in found.travel_mm]
    np.testing.assert_allclose(found.toe_deg, expected, rtol=0.0, atol=SAME_TOE_ATOL_DEG)


def test_the_toe_curve_is_that_of_a_case_written_with_the_moved_points(wished):
    car, toe = moved_car(wished), static_toe_deg(wished)
    posed = car.pose(wished.ride.lowered_by, toe_deg=toe)
    points = {}
    for name, point in car.points.items():
        if name == "strut_top" or name.endswith(("_front", "_rear", "_inner")):
            points[name] = tuple(car.chassis(name))
        elif name == "strut_axis":
            points[name] = tuple(posed.carried(car.strut_line()[1]))
        else:
            down = np.array([0.0, 0.0, -car.drop if name == "lower_ball_joint" else 0.0])
            points[name] = tuple(posed.carried(point + down))
    table = measured(wished).model_dump(exclude={"obstacles", "custom_pivot"})
    by_hand = Case.model_validate(
        table
        | {
            "points": points,
            "wheel": table["wheel"] | {"toe_deg": toe, "camber_deg": posed.camber_deg},
            "ride": table["ride"] | {"lowered_by": 0.0, "toe_deg": toe},
            "lower_ball_joint": {},
        }
    )
    one, other = curve_of(wished), curve_of(by_hand)
    for name in ("toe_deg", "camber_deg", "caster_deg", "kingpin_inclination_deg"):
        np.testing.assert_allclose(
            getattr(one, name), getattr(other, name), rtol=0.0, atol=SAME_TOE_ATOL_DEG
        )
    np.testing.assert_allclose(
        one.half_track_change_mm, other.half_track_change_mm, rtol=0.0, atol=1e-7
    )


def test_camber_plates_and_caster_shims_change_bump_steer():
    for path, wish in WISHES:
        if wish["by"] == "strut-top" or "caster_deg" in wish:
            effect = curve_of(wishing(path, wish)).alignment.toe_curve
            before, after = effect.peak_toe_change_before_deg, effect.peak_toe_change_deg
            assert abs(after - before) > 0.02 * before


def test_the_effect_on_the_toe_curve_is_that_of_both_curves(wished):
    effect = curve_of(wished).alignment.toe_curve
    plain, aligned = (
        np.array(curve_of(case, CurveRequest(step=0.5)).toe_deg)
        for case in (measured(wished), wished)
    )
    for toe, peak in (
        (plain, effect.peak_toe_change_before_deg),
        (aligned, effect.peak_toe_change_deg),
    ):
        # The peaks are over 25 heights, the ends of the travel among them, where these curves peak.
        assert np.abs(toe - static_toe_deg(wished)).max() == pytest.approx(peak, rel=1e-6)


def test_a_degree_of_caster_lifts_the_outer_pivot_by_two_percent_of_the_arm():
    # Common practice, no source: about 2 % of the arm's length; sin(1 deg) is 1.75 %.
    before = wishing(STRUT, {"by": "strut-top", "caster_deg": 4.0}, lowered_by=0.0)
    after = wishing(STRUT, {"by": "strut-top", "caster_deg": 5.0}, lowered_by=0.0)
    low, high = (aligned_case(case).points for case in (before, after))
    fall = [points.lower_ball_joint[2] - points.tie_rod_outer[2] for points in (low, high)]
    arm = low.lower_ball_joint[0] - low.tie_rod_outer[0]  # behind the axle: caster lowers its end
    assert fall[1] - fall[0] == pytest.approx(np.sin(np.radians(1.0)) * arm, rel=0.05)
