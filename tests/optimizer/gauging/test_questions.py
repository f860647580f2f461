"""What a readings file is asked about; clean sweeps are asked nothing."""

from itertools import islice

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.files.readings_file import read_readings
from optimizer.gauging.fit import fitted_points
from optimizer.gauging.questions import questions
from optimizer.gauging.slips import LEAST_NOISE
from optimizer.gauging.stack_doubt import LEAST_GAIN, _change_asked_for, _scaled
from optimizer.gauging.swept import swept
from optimizer.models.readings import Readings
from tests.optimizer.command_line import CASES

from . import one_visit
from .garage_cars import KINDS
from .sweeps import angles, judged, kinds, readings, true_car

TRAVEL = np.arange(-40.0, 41.0, 10.0)


def asked(sweep):
    return questions(sweep, swept(sweep, None).curve)


def bent(travel, slope=-0.005, square=-2e-5):
    """Toe in degrees of a car that toes out in bump, lopsidedly."""
    return dict(zip(travel, slope * travel + square * travel**2, strict=True))


def two_dials(travel, toe_deg, **keys):
    difference = 500.0 * np.tan(np.radians(toe_deg))
    rows = np.column_stack([travel, -0.5 * difference, 0.5 * difference]).tolist()
    return readings("two-dial", rows, **keys)


def test_a_clean_sweep_is_asked_nothing(demo_sweep):
    assert asked(read_readings(demo_sweep)) == []


@pytest.mark.parametrize(
    ("sweep", "kind", "figures"),
    [
        (angles(bent(TRAVEL, slope=-0.3)), "large-change-in-degrees", {}),
        (angles(bent(TRAVEL, slope=-0.3 * 60), angle_unit="min"), "large-change", {}),
        (
            angles(bent(TRAVEL, slope=-0.005 / 60.0, square=0.0)),
            "seconds-of-arc",
            {"by_deg": 12.0 / 3600.0},
        ),
        (two_dials(TRAVEL, -0.15 * TRAVEL), "large-change", {}),
        (two_dials(TRAVEL, -0.005 * TRAVEL, spacing=250.0), "narrow-gauge", {"spacing_mm": 250.0}),
        (
            readings("single-dial", [[0.0, 0.0], [40.0, 1.0]], dial_distance=125.0),
            "near-dial",
            {"spacing_mm": 125.0},
        ),
        (
            readings("single-dial", [[0.0, 0.0], [40.0, 1.0]], dial_distance=500.0),
            "far-dial",
            {"spacing_mm": 500.0},
        ),
        (
            two_dials(TRAVEL, -0.005 * TRAVEL, spacing=1000.0),
            "wide-gauge",
            {"spacing_mm": 1000.0},
        ),
        (
            two_dials(TRAVEL, -0.005 * TRAVEL, spacing=330.0, car={"tire_diameter": 650.0}),
            "radius-for-diameter",
            {"spacing_mm": 330.0, "diameter_mm": 650.0},
        ),
        (
            two_dials(TRAVEL, -0.005 * TRAVEL, car={"tire_diameter": 600.0}),
            "gauge-below-tire",
            {"spacing_mm": 500.0, "diameter_mm": 600.0},
        ),
        (angles(bent(TRAVEL[TRAVEL != 0.0])), "ride-height-not-read", {}),
        (angles(bent(TRAVEL + 60.0)), "ride-height-outside", {}),
        (angles(bent(TRAVEL / 20.0)), "odd-reach", {"travel_mm": 2.0}),
        (
            angles(bent(TRAVEL / 2.54, slope=-0.002, square=0.0), units="in"),
            "odd-reach",
            {"travel_mm": 400.0},
        ),
        (
            angles(bent(np.array([-40.0, -30.0, -20.0, 0.0, 10.0, 20.0, 30.0]))),
            "odd-step",
            {"usual_mm": 10.0, "travel_mm": -20.0, "to_mm": 0.0},
        ),
        (
            angles(bent(np.array([-40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 12.0, 30.0]))),
            "odd-step",
            {"travel_mm": 10.0, "to_mm": 12.0},
        ),
    ],
)
def test_what_looks_like_a_slip_is_asked_about(sweep, kind, figures):
    (found,) = (fact for fact in asked(sweep) if fact.kind == kind)
    assert {name: getattr(found, name) for name in figures} == pytest.approx(figures, rel=1e-6)


def test_a_gauge_that_reads_zero_at_another_height_than_ride_height_is_asked_about():
    toe = -0.005 * TRAVEL
    assert "zeroed-elsewhere" not in [one.kind for one in asked(two_dials(TRAVEL, toe))]
    found = [one for one in asked(two_dials(TRAVEL + 20.0, toe)) if one.kind == "zeroed-elsewhere"]
    assert [one.travel_mm for one in found] == [20.0]


def test_a_string_that_is_read_by_a_ruler_may_scatter_and_read_zero_by_chance():
    rng, toe = np.random.default_rng(1), 600.0 * np.tan(np.radians(-0.002 * TRAVEL))
    found = []
    for _ in range(200):
        shown = np.column_stack([-0.5 * toe, 0.5 * toe]) + 0.3 * rng.normal(size=(len(toe), 2))
        rows = np.column_stack([TRAVEL, np.round(2.0 * shown) / 2.0]).tolist()
        found.append(bool(asked(readings("string", rows, spacing=600.0))))
    assert np.mean(found) < 0.05  # common practice, no source


def test_rows_that_scatter_as_their_stated_noise_are_asked_nothing():
    toe = -0.005 * TRAVEL + 0.15 * np.random.default_rng(2).normal(size=TRAVEL.size)
    sweep = dict(zip(TRAVEL, toe, strict=True))
    assert kinds(asked(angles(sweep))) == ["scatter"]
    assert asked(angles(sweep, noise=0.15)) == []


def test_a_shorter_step_at_an_end_of_the_travel_is_no_slip():
    heights = np.array([-45.0, *np.arange(-40.0, 41.0, 10.0), 45.0])
    assert kinds(asked(angles(bent(heights)))) == []


def test_a_row_that_stands_apart_is_named_as_typed():
    toe = bent(TRAVEL)
    toe[20.0] += 0.2
    found = asked(angles(toe))
    assert kinds(found) == ["row-apart"]
    assert (found[0].rows, found[0].travel_mm) == ((7,), 20.0)
    assert found[0].by_deg == pytest.approx(0.2, abs=5e-4)


def test_rows_too_few_to_tell_the_wrong_one_are_asked_about_together():
    sweep = readings("angle", [[-30.0, 0.1], [0.0, 0.0], [0.0, 1.0], [30.0, -0.1]])
    (scatter,) = (fact for fact in asked(sweep) if fact.kind == "scatter")
    assert scatter.by_deg == pytest.approx(0.707, abs=5e-4)


def test_minus_signs_lost_on_one_side_make_a_kink_at_ride_height():
    toe = {travel: abs(angle) for travel, angle in bent(TRAVEL, square=0.0).items()}
    assert "minus-lost" in kinds(asked(angles(toe)))


# What two dials showed on an invented car with wishbones, rounded to 0.01 mm: front, rear.
SEEN = [
    [-1.16, 2.31], [-0.39, 2.36], [0.13, 2.11], [0.31, 1.61], [0.3, 0.95], [0.0, 0.0],
    [-0.54, -1.09], [-1.27, -2.48], [-2.25, -3.96], [-3.46, -5.62], [-4.86, -7.42],
]  # fmt: skip
HEIGHTS = np.arange(-50.0, 51.0, 10.0)


@pytest.mark.parametrize("lost", [["front"], ["rear"], ["front", "rear"]])
def test_minus_signs_lost_in_a_column_are_asked_about(lost):
    shown = np.array(SEEN)
    assert kinds(asked(readings("two-dial", np.column_stack([HEIGHTS, shown]).tolist()))) == []
    for column in lost:
        place = ["front", "rear"].index(column)
        shown[:, place] = np.abs(shown[:, place])
    found = asked(readings("two-dial", np.column_stack([HEIGHTS, shown]).tolist()))
    assert [one.column for one in found if one.kind == "minus-lost"] == lost


def test_two_rows_changed_over_are_asked_about():
    shown = np.array(SEEN)[[0, 1, 3, 2, *range(4, 11)]]
    found = asked(readings("two-dial", np.column_stack([HEIGHTS, shown]).tolist()))
    assert [one.rows for one in found if one.kind == "rows-changed-over"] == [(3, 4)]


@pytest.mark.parametrize("place", [2, 3, 7, 9])
@pytest.mark.parametrize("way", [1, -1])
def test_a_gauge_that_slipped_between_two_heights_is_asked_about(place, way):
    shown, rows = np.array(SEEN), np.arange(11)[::way]
    shown[place:, 0] += 1.0
    found = asked(readings("two-dial", np.column_stack([HEIGHTS, shown])[rows].tolist()))
    (slipped,) = (one for one in found if one.kind == "gauge-slipped")
    assert {slipped.travel_mm, slipped.to_mm} == {HEIGHTS[place - 1], HEIGHTS[place]}
    assert slipped.by_deg == pytest.approx(np.degrees(1.0 / 500.0), abs=0.02)


def test_rows_that_only_scatter_are_taken_for_no_slip_of_the_pen():
    rng = np.random.default_rng(3)
    for _ in range(200):
        shown = np.array(SEEN) + 0.1 * rng.normal(size=(11, 2))
        shown -= shown.min(axis=0)
        found = kinds(asked(readings("two-dial", np.column_stack([HEIGHTS, shown]).tolist())))
        assert not {"minus-lost", "rows-changed-over", "gauge-slipped"} & set(found)


def test_a_true_c_is_not_taken_for_lost_minus_signs():
    toe = bent(TRAVEL, slope=0.0, square=2e-4)
    assert "minus-lost" not in kinds(asked(angles(toe)))


def test_droop_typed_without_its_minus_sign_is_asked_about():
    sweep = readings("angle", [[abs(t), -0.005 * t] for t in range(40, -41, -10)])
    assert "droop-without-minus" in kinds(asked(sweep))


def test_up_and_down_strokes_that_differ_point_to_play():
    travel = np.concatenate([TRAVEL, TRAVEL[-2::-1]])
    toe = -0.005 * travel + np.where(np.arange(travel.size) < TRAVEL.size, 0.03, -0.03)
    found = asked(readings("angle", np.column_stack([travel, toe]).tolist()))
    assert kinds(found) == ["play"]
    assert found[0].by_deg == pytest.approx(0.06, abs=5e-4)


def test_heights_that_two_sweeps_miss_by_a_hair_are_the_same_height():
    travel = np.concatenate([TRAVEL, TRAVEL + 0.3])
    sweep = readings("angle", np.column_stack([travel, -0.005 * travel]).tolist())
    assert asked(sweep) == []


def test_turns_that_were_counted_are_told_and_a_count_that_may_be_wrong_is_asked_about():
    shown = np.mod(0.12 * TRAVEL, 10.0)
    rows = np.column_stack([TRAVEL, np.zeros(TRAVEL.size), shown]).tolist()
    found = asked(readings("two-dial", rows, revolution=10.0))
    assert [fact.rows[:2] for fact in found if fact.kind == "turns-added"] == [(5, 6)]
    rows = np.column_stack([TRAVEL, np.zeros(TRAVEL.size), np.mod(0.42 * TRAVEL, 10.0)]).tolist()
    found = asked(readings("two-dial", rows, revolution=10.0))
    assert "half-turn" in kinds(found)


def test_a_gauge_that_also_sees_the_wheel_move_sideways_says_so_without_points():
    lone = readings("single-dial", [[t, 0.01 * t] for t in TRAVEL])
    target = readings("laser", [[t, 0.01 * t] for t in TRAVEL], target_behind=None)
    two = readings("laser", [[t, -0.01 * t, 0.01 * t] for t in TRAVEL])
    told = [kinds(judged(None, [sweep]).questions) for sweep in (lone, target, two)]
    assert [[kind for kind in some if kind.startswith("lone")] for some in told] == [
        ["lone-dial"],
        ["lone-target"],
        [],
    ]


def test_nothing_that_is_asked_about_is_corrected():
    half = two_dials(TRAVEL, -0.005 * TRAVEL, spacing=250.0)
    measured = judged(None, [half]).measured
    assert measured.toe_deg == pytest.approx((-0.01 * TRAVEL).tolist(), abs=1e-4)


@pytest.mark.parametrize("step", [1.0, 0.01])
def test_a_sweep_in_small_steps_is_asked_nothing(step):
    travel = np.round(np.arange(-30.0, 30.0 + step / 2.0, step), 3)
    assert asked(angles(bent(travel))) == []


def test_what_stack_a_sweep_asks_for_does_not_hang_on_where_the_fit_began():
    kind = next(one for one in KINDS if one.layout == "twin-link-strut")
    cars = one_visit._cars(kind, (10.0, 20.0), np.random.default_rng(5))
    for number, (tape, _) in enumerate(islice(cars, 4)):
        rng = np.random.default_rng(number)
        true = true_car(tape, rng)
        sweep = swept(Readings.model_validate(one_visit._Read(true, rng).sweep()), tape)
        rows = sweep.observations(tape)
        rough = [one.with_noise_above(LEAST_NOISE) for one in rows]
        fits = [fitted_points(tape, rough, near) for near in (None, fitted_points(tape, rows))]
        (change, sigma, gain), other = (_change_asked_for(tape, [rough], 0, fit) for fit in fits)
        assert other == pytest.approx((change, sigma, gain), rel=0.05, abs=0.05)
        assert 0.0 < sigma < 100.0
        assert gain < LEAST_GAIN  # the stack is as typed


def test_a_scale_that_explains_what_a_wrong_stack_left_open_is_not_dismissed_by_its_first_order():
    tape = Evaluator.of(read_case(CASES / "extended-strut.toml"))
    travel = [-55.0, -45.0, -35.0, -25.0, -15.0, -5.0, 0.0, 5.0, 15.0, 25.0, 35.0, 45.0]
    toe = {  # the second is of 8 mm, typed down for up
        12.0: [1.3, 1.06, 0.81, 0.6, 0.37, 0.09, 0.0, -0.15, -0.4, -0.66, -0.94, -1.2],
        -8.0: [1.57, 1.28, 1.01, 0.72, 0.45, 0.17, 0.0, -0.13, -0.43, -0.72, -1.04, -1.38],
        4.0: [1.77, 1.46, 1.14, 0.82, 0.5, 0.18, 0.0, -0.17, -0.51, -0.88, -1.22, -1.6],
    }
    sweeps = [
        swept(angles(dict(zip(travel, read, strict=True)), outer_drop=drop), tape)
        for drop, read in toe.items()
    ]
    typed = [[one.toe_seen().with_noise_above(LEAST_NOISE)] for one in sweeps]
    fit = fitted_points(tape, [row for rows in typed for row in rows])
    assert _scaled(tape, typed, 1, fit, "doubled").log_odds > 0.0
