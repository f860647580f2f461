"""What `suggest` answers: one option at each rank, and everything below it of number 1."""

import re
from functools import cache

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.adjust import linkage_choice
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.kits import read_kits
from optimizer.models.kits import Kit
from optimizer.models.setting import Option, WheelSetting
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.hardware import case_with_kit
from tests.optimizer.command_line import CASES
from tests.optimizer.matrix_cars import car, kits
from tests.optimizer.options.exhaustive import RESOLUTION_DEG, SAME_DEG, EveryOption
from tests.optimizer.two_sided_cars import (
    DEMO_TEXT,
    MIRRORED_TEXT,
    ROOT,
    car_of,
    mirror_car_text,
    moved,
    numbers,
    one_wheel,
    with_tape,
)

DEMO_KITS = read_kits(CASES / "kits.toml").kits
# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6
KINDS = [
    (wheels, hardware, layout)
    for layout in ("double-wishbone", "five-link")
    for wheels in ("one", "both")
    for hardware in ("shelf", "range", "kits")
]


@pytest.fixture(params=KINDS, ids="-".join)
def kind(request: pytest.FixtureRequest) -> tuple[str, str, str]:
    return request.param


@cache
def answer_for(kind: tuple[str, str, str]) -> tuple[Vehicle, list[Kit], SuggestResult]:
    """Car, kits and answer; five links are on a rear axle."""
    units = "in" if kind[2] == "five-link" else "mm"
    vehicle, offered = car(*kind, units), kits(units) if kind[1] == "kits" else []
    return vehicle, offered, suggest(vehicle, offered)


def fitted(
    vehicle: Vehicle, kits: list[Kit], option: Option, wheel: WheelSetting
) -> tuple[Evaluator, Settings]:
    """A wheel as the answer says it is to be, from its case and the kit alone."""
    (case,) = (one for one in vehicle.wheels if one.side == wheel.side)
    if option.kit is not None:
        case = case_with_kit(case, next(kit for kit in kits if kit.name == option.kit))
    choice = linkage_choice(case, dict(wheel))
    return Evaluator.of(case), Settings.single(wheel.outer_drop_mm, wheel.rack_raise_mm, choice)


def test_curves_and_readings_are_of_number_1_and_of_the_car_as_it_is(kind):
    vehicle, offered, answer = answer_for(kind)
    first = answer.first
    assert first is not None or not any(row.fits for row in answer.ranked)
    for k, wheel in enumerate(answer.wheels):
        for option, curve in (
            (answer.as_is, wheel.curves.as_is_deg),
            (first, wheel.curves.best_deg),
        ):
            if option is None:
                assert (curve, wheel.expected) == (None, [])
                continue
            setting = option.wheels[k]
            assert setting.side == wheel.side
            assert np.abs(curve).max() == pytest.approx(setting.peak_toe_change_deg, abs=SAME_DEG)
        if first is None:
            continue
        evaluator, settings = fitted(vehicle, offered, first, first.wheels[k])
        travel = np.array([0.0, *(reading.travel_mm for reading in wheel.expected)])
        toe = np.degrees(evaluator.toe(settings, travel)[0])
        told = [reading.toe_change_deg for reading in wheel.expected]
        assert told == pytest.approx(toe[1:] - toe[0], abs=SAME_DEG)
        before, now = evaluator.steer_rate(Settings.single())[0], evaluator.steer_rate(settings)[0]
        if vehicle.case.words.steers:
            faster = 100.0 * (now / before - 1.0)
            assert first.wheels[k].steer_rate_change_percent == pytest.approx(faster, abs=1e-9)


def test_the_ranking_says_of_each_option_whether_it_fits_leads_and_is_unbeaten(kind):
    _, _, answer = answer_for(kind)
    best, rows = answer.certificate.best_peak_toe_change_deg, answer.ranked
    assert [row.rank for row in rows] == list(range(1, len(rows) + 1))
    assert [row for row in rows if row.is_as_is] == [answer.as_is]
    assert [row.fits for row in rows] == sorted((row.fits for row in rows), reverse=True)
    for row in rows:
        assert row.fits == (not row.reasons) == all(wheel.fits for wheel in row.wheels)
        assert row.peak_toe_change_deg == max(wheel.peak_toe_change_deg for wheel in row.wheels)
        assert row.leading == (row.fits and row.peak_toe_change_deg <= best + RESOLUTION_DEG)
        assert row.unbeaten in (True, False)
        assert row.fits or not row.unbeaten
    assert any(row.unbeaten for row in rows) == any(row.fits for row in rows)


def test_what_both_wheels_share_is_said_once_and_the_same_at_both(kind):
    vehicle, _, answer = answer_for(kind)
    for row in answer.ranked:
        raises = {wheel.rack_raise_mm for wheel in row.wheels}
        if vehicle.case.words.steers or not vehicle.both_wheels:
            assert raises == {row.rack_raise_mm}
        else:
            assert row.rack_raise_mm is row.ball_joint_drop_mm is None
    sides = ["left", "right"] if vehicle.both_wheels else [vehicle.case.side]
    assert [wheel.side for wheel in answer.wheels] == sides
    if not vehicle.both_wheels:
        assert answer.total_toe is answer.comparison is None
        return
    left, right = (np.array(wheel.curves.as_is_deg) for wheel in answer.wheels)
    assert answer.total_toe.total_as_is_deg == (left + right).tolist()
    assert answer.total_toe.difference_as_is_deg == (left - right).tolist()


def test_the_certificate_counts_every_option_that_can_be_made(kind):
    vehicle, offered, answer = answer_for(kind)
    every, told = EveryOption(vehicle, offered), answer.certificate
    assert told.combinations == len(every.options)
    places = [
        {(str(made.kit), made.rows[k]) for made in every.options}
        for k in range(len(told.wheel_settings))
    ]
    assert told.wheel_settings == [len(rows) for rows in places]


# --- two wheels against one


@pytest.mark.parametrize("kits", [(), DEMO_KITS], ids=["own hardware", "kits"])
def test_a_mirror_car_gets_the_one_wheel_answer_on_both_wheels(kits):
    # What every table says of places and directions is mirrored: gaps, tilts and room agree too.
    both = suggest(car_of(MIRRORED_TEXT), kits)
    alone = suggest(Vehicle((one_wheel(MIRRORED_TEXT, "left"),)), kits)
    best = both.certificate.best_peak_toe_change_deg
    assert best == pytest.approx(alone.certificate.best_peak_toe_change_deg, abs=SCORE_ATOL)
    places = {"tightest_joint", "tightest_gap", "dead_centers"}
    for row in both.ranked:
        left, right = (dict(numbers(wheel.model_dump(exclude=places))) for wheel in row.wheels)
        assert left == pytest.approx(right, abs=SCORE_ATOL)
    total, left = both.total_toe, np.array(both.wheels[0].curves.as_is_deg)
    assert total.total_as_is_deg == pytest.approx(2.0 * left, abs=SCORE_ATOL)
    assert total.difference_best_deg == pytest.approx(0.0 * left, abs=SCORE_ATOL)
    assert both.comparison.alike
    if kits:
        assert [row.kit for row in both.ranked] == [row.kit for row in alone.ranked]
        assert [row.wheels[0].outer_drop_mm for row in both.ranked] == [
            row.wheels[0].outer_drop_mm for row in alone.ranked
        ]
        assert [row.peak_toe_change_deg for row in both.ranked] == pytest.approx(
            [row.peak_toe_change_deg for row in alone.ranked], abs=SCORE_ATOL
        )


def test_a_rack_height_that_suits_one_wheel_alone_is_not_taken():
    both = car_of(DEMO_TEXT)
    alone = [suggest(Vehicle((case,))).ranked[0] for case in both.wheels]
    best = suggest(both).certificate.best_peak_toe_change_deg
    assert best >= max(row.peak_toe_change_deg for row in alone) - RESOLUTION_DEG
    # A left wheel that is right as it stands still goes along with the rack of the other one.
    text = moved(DEMO_TEXT, "left", "tie_rod_outer", (0.0, 0.0, -11.0))
    pinned = suggest(car_of(text.replace("spacers = [0.0, 2.0, 4.0]", "spacers = [4.0]")))
    assert [wheel.rack_raise_mm for wheel in pinned.ranked[0].wheels] == [4.0, 4.0]
    left, of_first = pinned.as_is.wheels[0], pinned.ranked[0].wheels[0]
    assert left.peak_toe_change_deg < of_first.peak_toe_change_deg


def test_on_a_rear_axle_each_wheel_has_its_inner_bracket_to_itself():
    rear = mirror_car_text((ROOT / "cases" / "five-link-rear.toml").read_text(encoding="utf-8"))
    both = car_of(with_tape(moved(rear, "right", "tie_rod_inner", (0.0, 0.0, 3.0)), 0.3))
    first = suggest(both).ranked[0]
    peaks = []
    for case, wheel in zip(both.wheels, first.wheels, strict=True):
        alone = suggest(Vehicle((case,)))
        (best,) = alone.ranked[0].wheels
        assert wheel.rack_raise_mm == best.rack_raise_mm
        assert wheel.outer_drop_mm == best.outer_drop_mm
        assert wheel.peak_toe_change_deg >= alone.certificate.best_peak_toe_change_deg - SAME_DEG
        peaks.append(alone.certificate.best_peak_toe_change_deg)
    assert first.peak_toe_change_deg <= max(peaks) + RESOLUTION_DEG


def test_each_wheel_builds_from_its_own_shelf_and_has_its_own_limits():
    own = "\n[right.shelf]\nshims = [{ thickness = 3.0, count = 2 }]\n"
    ranked = suggest(car_of(DEMO_TEXT + own)).ranked
    left, right = zip(*(row.wheels for row in ranked), strict=True)
    assert {piece for wheel in right for piece in wheel.stack_mm} == {3.0}
    assert any(piece != 3.0 for wheel in left for piece in wheel.stack_mm)
    names = [{wheel.tightest_gap.name for wheel in wheels} for wheels in (left, right)]
    assert [len(case.obstacles) for case in car_of(DEMO_TEXT).wheels] == [1, 2]
    assert all("exhaust" not in name for name in names[0])


IN_THE_WAY = """
[[{}obstacles]]
kind = "disc"
name = "in the way"
diameter = 500.0
inboard = -120.0
outboard = 10.0
"""


@pytest.mark.parametrize("kits", [(), DEMO_KITS[:1]], ids=["own hardware", "kits"])
def test_where_one_wheel_fits_nothing_nothing_fits_and_that_wheel_is_the_reason(kits):
    answer = suggest(car_of(DEMO_TEXT + IN_THE_WAY.format("right.")), kits)
    assert answer.certificate.best_peak_toe_change_deg is None
    assert answer.total_toe.total_best_deg is answer.first is None
    for row in answer.ranked:
        assert not row.fits
        assert {stop.side for stop in row.reasons} == {"right"}
    both = suggest(car_of(DEMO_TEXT + IN_THE_WAY.format("")), kits)
    assert {stop.side for stop in both.ranked[0].reasons} == {"left", "right"}


# --- alignment and extensions

ALIGNED = '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'


@pytest.mark.parametrize("drops", ["0.0", "[0.0, 12.0]"], ids=["one extension", "a list of them"])
@pytest.mark.parametrize("text", [DEMO_TEXT, MIRRORED_TEXT], ids=["wishbones", "struts"])
def test_both_wheels_are_aligned_for_the_extension_that_number_1_has(text, drops):
    text = (
        re.sub(r"\[lower_ball_joint\]\n.+\n", "", text) + f"\n[lower_ball_joint]\ndrop = {drops}\n"
    )
    by = ALIGNED if "upper_arm" in text else ALIGNED.replace("upper-arm", "strut-top")
    answer, whole = suggest(car_of(text + by)), car_of(text + by)
    first = answer.ranked[0]
    for case, wheel, setting in zip(whole.wheels, answer.wheels, first.wheels, strict=True):
        drop = case.lower_ball_joint.model_copy(update={"drop": (setting.ball_joint_drop_mm,)})
        alone = Evaluator.of(case.model_copy(update={"lower_ball_joint": drop}))
        change = alone.toe_change(Settings.single(setting.outer_drop_mm, setting.rack_raise_mm))
        peak = float(np.degrees(np.abs(change).max()))
        assert peak == pytest.approx(setting.peak_toe_change_deg, abs=SAME_DEG)
        assert wheel.curves.best_deg == pytest.approx(np.degrees(change[0]), abs=SAME_DEG)
        assert wheel.alignment.camber_deg == pytest.approx(-1.5, abs=SCORE_ATOL)
        as_is = Evaluator.of(
            case.model_copy(update={"lower_ball_joint": drop.model_copy(update={"drop": (0.0,)})})
        )
        assert wheel.curves.as_is_deg == pytest.approx(
            np.degrees(as_is.toe_change(Settings.single())[0]), abs=SAME_DEG
        )


def test_the_wanted_alignment_is_that_of_each_extension_where_several_are_ranked():
    table = "\n[lower_ball_joint]\ndrop = [0.0, 12.0]\n"
    answer = suggest(car_of(DEMO_TEXT + table + ALIGNED), plan=SuggestPlan(shown=20))
    assert {row.ball_joint_drop_mm for row in answer.ranked} == {0.0, 12.0}
