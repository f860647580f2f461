"""How surely the next stack keeps its limits, over the cars that tape and readings leave."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.cli.main import main
from optimizer.files.case_file import case_from_toml
from optimizer.files.toml_file import file_text
from optimizer.gauging.fit import corrected_car, fitted_points
from optimizer.gauging.limits_kept import limits_kept
from optimizer.gauging.swept import swept
from optimizer.limits.margins import margins

from .conftest import CASES
from .sweeps import angles, judged

TRAVEL = np.arange(-50.0, 51.0, 10.0)
NO_BUILD = (
    "[accuracy]\nstack = 0.0\nride_height = 0.0\nrack_center = 0.0\ntoe_setting_deg = 0.0\n"
    "rod_play = 0.0\n"
)
TILT = "inner = { tilt_limit_deg = 25.0 }"


def case_of(tilt_limit_deg, more=""):
    text = file_text(CASES / "lowered-strut.toml")
    assert TILT in text
    return case_from_toml(text.replace(TILT, TILT.replace("25.0", f"{tilt_limit_deg}")) + more, "x")


def sweep_of(case, seed=1):
    tape = Evaluator.of(case)
    errors = np.random.default_rng(seed).normal(size=(1, len(point_names(tape.corner)), 3))
    true = tape.with_corner(moved_corner(tape, errors).row(0))
    toe = np.degrees(true.toe(Settings.single(), TRAVEL)[0])
    return angles(dict(zip(TRAVEL, toe, strict=True)), noise=0.005)


def fit_of(case):
    tape = Evaluator.of(case)
    return tape, fitted_points(tape, swept(sweep_of(case), tape).observations(tape))


def test_as_many_cars_keep_a_limit_as_the_exact_motion_finds():
    setting = Settings.single(16.0, -6.0)
    loose = case_of(25.0, NO_BUILD)
    tape, fit = fit_of(loose)
    rng, spread = np.random.default_rng(3), np.linalg.cholesky(fit.covariance)
    draws = rng.normal(size=(60, len(spread))) @ spread.T
    cars = moved_corner(tape, fit.errors + draws.reshape(60, -1, 3))
    tilts = []
    for k in range(60):
        found = margins(tape.with_corner(cars.row(k)), setting, follow="smallest")
        (inner,) = (one for one in found if one.name == "inner joint")
        tilts.append(25.0 - float(inner.margin[0]))
    tilts = np.sort(tilts)
    assert np.ptp(tilts) > 0.2
    for share in (0.2, 0.5, 0.8):
        tight = case_of(float(np.quantile(tilts, share)), NO_BUILD)
        tape, fit = fit_of(tight)
        car = corrected_car(tape, fit)
        found = margins(car, setting, follow="smallest")
        kept = limits_kept(car, fit, setting, found, 0)
        (inner,) = (one for one in kept.limits if one.name == "inner joint")
        # Sixty cars: two standard deviations of a share of a half are 0.13.
        assert inner.probability == pytest.approx(share, abs=0.13)
        assert kept.probability <= inner.probability


def test_the_build_takes_its_share_too():
    found = {}
    for name, more in (("exact", NO_BUILD), ("rough", "[accuracy]\nride_height = 15.0\n")):
        tape, fit = fit_of(case_of(15.0, more))
        car, setting = corrected_car(tape, fit), Settings.single(16.0, -6.0)
        kept = limits_kept(car, fit, setting, margins(car, setting, follow="smallest"), 0)
        (inner,) = (one for one in kept.limits if one.name == "inner joint")
        found[name] = inner.probability
    assert 0.5 < found["rough"] < found["exact"]


def test_the_answer_and_the_report_say_it(tmp_path, capsys):
    case = tmp_path / "car.toml"
    text = file_text(CASES / "lowered-strut.toml")
    case.write_text(text.replace("tilt_limit_deg = 25.0", "tilt_limit_deg = 14.4"), "utf-8")
    sweep = CASES / "readings" / "lowered-strut.toml"
    main(["gauge", str(case), str(sweep)])
    said = " ".join(capsys.readouterr().out.split())
    assert "of the cars that tape, readings and build leave; least surely that of the tilt" in said
    answer = judged(case_of(25.0), [sweep_of(case_of(25.0))])
    kept = answer.next.limits_kept
    assert {one.kind for one in kept.limits} >= {"tilt", "gap"}
    assert kept.probability <= min(one.probability for one in kept.limits)
