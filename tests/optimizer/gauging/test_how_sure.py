"""How sure a choice is by tape alone and after what was read: the same cars solved exactly."""

import json

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.cli.main import main
from optimizer.files.case_file import car_from_toml, case_from_toml, read_car
from optimizer.files.corrected_case import corrected_text
from optimizer.files.toml_file import file_text
from optimizer.gauging.fit import corrected_car, fitted_points
from optimizer.gauging.how_sure import Followed, first_by_tape
from optimizer.gauging.loop import gauge
from optimizer.gauging.next_stack import may_be_chosen
from optimizer.gauging.swept import swept
from optimizer.limits.margins import margins
from optimizer.options.space import space_of

from .conftest import CASES
from .sweeps import as_swept, judged, true_car

TRAVEL = np.arange(-50.0, 51.0, 10.0)
NO_BUILD = (
    "[accuracy]\nstack = 0.0\nride_height = 0.0\nrack_center = 0.0\ntoe_setting_deg = 0.0\n"
    "rod_play = 0.0\n"
)
TILT = "inner = { tilt_limit_deg = 25.0 }"
LAYOUTS = [
    "lowered-strut",
    "track-wishbone",
    "tension-link-strut",
    "five-link-front",
    "lifted-beam-axle",
    "lifted-leaf-axle",
]
ENOUGH = 1000  # more rows than any demo car can be given


def case_of(tilt_limit_deg, more=""):
    text = file_text(CASES / "lowered-strut.toml")
    assert TILT in text
    return case_from_toml(text.replace(TILT, TILT.replace("25.0", f"{tilt_limit_deg}")) + more, "x")


def sweep_of(case, seed=1, drop=0.0, **keys):
    """A sweep of the car that the tape has missed by its accuracy."""
    tape = Evaluator.of(case)
    travel = np.unique(np.clip(TRAVEL, -case.ride.droop, case.ride.bump))
    return as_swept(true_car(tape, seed), travel, drop, side=case.side, **keys)


def fit_of(case):
    tape = Evaluator.of(case)
    return tape, fitted_points(tape, swept(sweep_of(case), tape).observations(tape))


def chances_of(tape, fit, setting):
    car, space = corrected_car(tape, fit), space_of(tape.case)
    followed = Followed.of([("next", setting, ())], space, 0)
    return followed.chances(car, fit, may_be_chosen(car, space), 0)[0]


def in_draws(tape, fit, count):
    """Cars of what a fit leaves open, another draw."""
    rng, spread = np.random.default_rng(3), np.linalg.cholesky(fit.covariance)
    draws = rng.normal(size=(count, len(spread))) @ spread.T
    cars = moved_corner(tape, fit.errors + draws.reshape(count, -1, 3))
    return [tape.with_corner(cars.row(k)) for k in range(count)]


def test_as_many_cars_keep_a_limit_as_the_exact_motion_finds():
    setting = Settings.single(16.0, -6.0)
    tilts = []
    for car in in_draws(*fit_of(case_of(25.0, NO_BUILD)), 60):
        found = margins(car, setting, follow="smallest")
        (inner,) = (one for one in found if one.name == "inner joint")
        tilts.append(25.0 - float(inner.margin[0]))
    tilts = np.sort(tilts)
    assert np.ptp(tilts) > 0.2
    for share in (0.2, 0.5, 0.8):
        tight = case_of(float(np.quantile(tilts, share)), NO_BUILD)
        kept = chances_of(*fit_of(tight), setting)
        (inner,) = (one for one in kept.limits if one.name == "inner joint")
        # Sixty cars: two standard deviations of a share of a half are 0.13.
        assert inner.probability == pytest.approx(share, abs=0.13)
        assert kept.keeps_limits_probability <= inner.probability


def test_the_build_takes_its_share_too():
    found = {}
    for name, more in (("exact", NO_BUILD), ("rough", "[accuracy]\nride_height = 15.0\n")):
        kept = chances_of(*fit_of(case_of(15.0, more)), Settings.single(16.0, -6.0))
        told = [one.probability for one in kept.limits if one.name == "inner joint"]
        found[name] = min(told, default=1.0)  # not told where it is as good as sure
    assert 0.5 < found["rough"] < found["exact"]


@pytest.mark.parametrize("name", ["lowered-strut", "track-wishbone"])
def test_peaks_and_the_best_of_each_car_are_those_of_cars_solved_exactly(name):
    case = case_from_toml(file_text(CASES / f"{name}.toml") + NO_BUILD, name)
    sweep = sweep_of(case)
    answer, tape = judged(case, [sweep], stages=True), Evaluator.of(case)
    fit = fitted_points(tape, swept(sweep, tape).observations(tape))
    settings = space_of(case).settings
    fits = np.all([one.margin >= 0.0 for one in margins(tape, settings)], axis=0)
    setting = Settings.single(answer.next.outer_drop_mm, answer.next.rack_raise_mm)
    own, best = [], []
    for car in in_draws(tape, fit, 300):
        own.append(np.degrees(np.abs(car.toe_change(setting)).max()))
        best.append(np.degrees(np.abs(car.toe_change(settings.rows(fits))).max(axis=1).min()))
    told, own, best = answer.how_sure.stages[-1].chances[0], np.array(own), np.array(best)
    spread = told.peak_95_deg - told.peak_05_deg
    low, median, high = np.quantile(own, (0.05, 0.5, 0.95))
    assert told.peak_median_deg == pytest.approx(median, abs=0.1 * spread)
    assert told.peak_05_deg == pytest.approx(low, abs=0.15 * spread)
    assert told.peak_95_deg == pytest.approx(high, abs=0.15 * spread)
    # 300 and 256 cars: two standard deviations of a difference of halves are 0.085.
    assert told.near_best_probability == pytest.approx(np.mean(own <= best + 0.01), abs=0.1)
    assert told.meets_tolerance_probability == pytest.approx(
        np.mean(own <= case.aim.tolerance_deg), abs=0.1
    )


@pytest.mark.parametrize("name", LAYOUTS)
def test_what_a_sweep_tells_narrows_what_the_tape_left_open(name):
    car = read_car(CASES / f"{name}.toml")
    answer = judged(car.case, [sweep_of(car.case)], stages=True)
    before, after = (stage.chances for stage in answer.how_sure.stages)
    for by_tape, then in zip(before, after, strict=True):
        assert then.peak_95_deg - then.peak_05_deg < by_tape.peak_95_deg - by_tape.peak_05_deg
    assert after[0].peak_median_deg <= min(one.peak_median_deg for one in after) + 0.01
    assert after[0].near_best_probability > before[0].near_best_probability


@pytest.mark.parametrize(
    ("name", "more"),
    [
        *((name, "") for name in (*LAYOUTS, "kit-car-inches", "five-link-rear")),
        ("lowered-strut", '\n[alignment]\nby = "strut-top"\ncamber_deg = -2.5\n'),
    ],
)
def test_suggest_says_the_same_by_tape_and_of_the_written_case(name, more):
    text = file_text(CASES / f"{name}.toml") + more
    car = car_from_toml(text, name)
    answer = gauge(car, [sweep_of(car.case)], stages=True)
    (wheel,) = answer.wheels
    corrected = car_from_toml(corrected_text(text, answer), name)
    for vehicle, stage in zip((car, corrected), wheel.how_sure.stages, strict=True):
        rows = suggest(vehicle, plan=SuggestPlan(shown=ENOUGH)).ranked
        told = [match(rows, one) for one in wheel.how_sure.compared]
        assert any(told)
        for row, one in zip(told, stage.chances, strict=True):
            if row is None:  # refused, and not among the best of those
                continue
            # Written to hundredths of a millimeter; the near best among the same settings.
            for key in ("peak_median_deg", "peak_05_deg", "peak_95_deg"):
                assert getattr(one, key) == pytest.approx(getattr(row.chances, key), abs=0.003)
            for key in ("meets_tolerance", "keeps_limits", "near_best"):
                key += "_probability"
                assert getattr(one, key) == pytest.approx(getattr(row.chances, key), abs=0.04)
    first, *_ = first_by_tape(car)
    named = [one for one in wheel.how_sure.compared if "by-tape" in one.roles]
    assert [one.outer_drop_mm for one in named] == [first.outer_drop_mm]


def match(rows, one):
    """The row of a ranking that fits the same."""
    keys = [key for key in type(one).model_fields if key.endswith("_mm") and key != "stack_mm"]
    same = (
        row
        for row in rows
        if all(getattr(row.wheels[0], key) == pytest.approx(getattr(one, key)) for key in keys)
    )
    return next(same, None)


def test_each_stage_adds_what_was_read_and_none_is_told_twice():
    case = read_car(CASES / "track-wishbone.toml").case
    first, second = sweep_of(case), sweep_of(case, drop=7.5)
    camber = {"readings": [[-40.0, 0.3], [0.0, -1.0], [40.0, -2.5]]}
    with_camber = sweep_of(case, camber=camber)
    told = {
        (1, False): judged(case, [first], stages=True),
        (2, False): judged(case, [first, second], stages=True),
        (1, True): judged(case, [with_camber], stages=True),
    }
    kinds = {
        key: [(stage.sweeps, stage.beside) for stage in answer.how_sure.stages]
        for key, answer in told.items()
    }
    assert kinds == {
        (1, False): [(0, False), (1, False)],
        (2, False): [(0, False), (1, False), (2, False)],
        (1, True): [(0, False), (1, False), (1, True)],
    }


def test_each_of_two_wheels_is_told_by_itself(tmp_path, capsys):
    car = read_car(CASES / "two-sided-wishbone.toml")
    answer = gauge(car, [sweep_of(case, seed) for seed, case in enumerate(car.wheels)], stages=True)
    left, right = answer.wheels
    assert [one.side for one in left.how_sure.compared] == ["left"] * len(left.how_sure.compared)
    assert left.how_sure.stages[0].chances[0] != right.how_sure.stages[0].chances[0]
    alone = gauge(car, [sweep_of(car.wheels[1], 1)], stages=True)
    assert alone.wheels[0].how_sure == right.how_sure


def test_points_and_readings_that_contradict_each_other_make_no_table(capsys, tmp_path):
    sweep = tmp_path / "sweep.toml"
    text = file_text(CASES / "readings" / "lowered-strut.toml")
    assert "spacing" in text
    case = tmp_path / "car.toml"
    rough = file_text(CASES / "lowered-strut.toml")
    case.write_text(f"{rough}\n[accuracy]\npoints = 0.05\n", "utf-8")
    sweep.write_text(text, "utf-8")
    main(["gauge", str(case), str(sweep), "--json"])
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    assert wheel["contradictory"]
    main(["gauge", str(case), str(sweep), "--verbose"])
    assert "How sure it was" not in capsys.readouterr().out


def test_the_answer_and_the_report_say_it(tmp_path, capsys):
    case = tmp_path / "car.toml"
    text = file_text(CASES / "lowered-strut.toml")
    case.write_text(text.replace("tilt_limit_deg = 25.0", "tilt_limit_deg = 14.4"), "utf-8")
    sweep = CASES / "readings" / "lowered-strut.toml"
    page = tmp_path / "page.html"
    main(["gauge", str(case), str(sweep)])
    assert "How sure it was" not in capsys.readouterr().out  # it takes as long as all the rest
    main(["gauge", str(case), str(sweep), "--verbose", "--page", str(page)])
    said = " ".join(capsys.readouterr().out.split())
    assert "of the cars that tape, readings and build leave; least surely that of the tilt" in said
    assert "How sure it was by tape, and how sure it is now" in said
    assert "1 sweep next" in said
    assert "How sure it was by tape, and how sure it is now" in page.read_text("utf-8")
    answer = judged(case_of(14.4), [sweep_of(case_of(14.4))], stages=True)
    sure = answer.next.chances
    assert answer.how_sure.stages[-1].chances[0] == sure
    assert {one.kind for one in sure.limits} <= {"tilt", "gap", "thread"}
    assert sure.keeps_limits_probability <= min(one.probability for one in sure.limits)


def test_a_case_without_limits_does_not_claim_that_they_are_kept(tmp_path, capsys):
    case = read_car(CASES / "five-link-rear.toml").case
    bare = case.model_copy(update={"joint": type(case.joint)(), "obstacles": ()})
    answer = judged(bare, [sweep_of(bare)], stages=True)
    assert not answer.how_sure.limits_stated
