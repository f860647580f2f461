"""`suggest` says of every option in how many of the possible cars it comes out well."""

import re
from itertools import product

import numpy as np
import pytest

from optimizer.files.case_file import read_car
from optimizer.options.chances import WITH_RIVALS, chances, rivals_of
from optimizer.options.dimensions import option_space
from optimizer.options.drawn import DrawnCars
from optimizer.options.proof import RESOLUTION
from optimizer.options.ranking import ranked
from optimizer.wording.odds import chance
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, run, suggested

EXACT = "points = 0.0\nstack = 0.0\nride_height = 0.0\nrack_center = 0.0\n"
EXACT += "toe_setting_deg = 0.0\nrod_play = 0.0\n"


def ranked_of(capsys, path, *options):
    return suggested(capsys, path, *options).ranked


def with_accuracy(tmp_path, car, keys):
    path = tmp_path / "car.toml"
    text = car.read_text(encoding="utf-8")
    assert "[accuracy" not in text.replace("#[accuracy", "")
    path.write_text(f"{text}\n[accuracy]\n{keys}", encoding="utf-8")
    return path


def test_every_option_carries_its_chances_and_they_agree_with_each_other(capsys):
    for row in ranked_of(capsys, WISHBONE):
        sure = row.chances
        assert sure.cars > 1000
        assert sure.peak_05_deg < sure.peak_median_deg < sure.peak_95_deg
        assert sure.peak_05_deg < sure.peak_mean_deg < sure.peak_95_deg
        assert row.peak_toe_change_deg < sure.peak_mean_deg
        kept = [one.probability for one in sure.limits]
        assert sure.keeps_limits_probability <= min(kept, default=1.0)
        assert row.fits == (sure.keeps_limits_probability > 0.5)


def test_a_better_kept_limit_costs_peak_and_the_table_shows_both(capsys):
    run("suggest", WISHBONE)
    said = capsys.readouterr().out
    assert re.search(r"within +limits", said)
    first = next(line for line in said.splitlines() if line.startswith("  1*"))
    assert re.search(r"0\.037 +\d % +\d\d % ", first)
    assert "Limits kept: in 7 of 10 such cars." in " ".join(said.split())


def test_with_a_car_that_is_known_and_built_exactly_every_chance_is_sure(capsys, tmp_path):
    for row in ranked_of(capsys, with_accuracy(tmp_path, WISHBONE, EXACT)):
        sure = row.chances
        assert sure.peak_mean_deg == pytest.approx(row.peak_toe_change_deg, abs=0.002)
        assert sure.peak_05_deg == pytest.approx(sure.peak_95_deg)
        assert sure.meets_tolerance_probability == float(row.meets_tolerance)
        assert sure.keeps_limits_probability == float(row.fits)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("stack", 3.0),
        ("ride_height", 30.0),
        ("rack_center", 10.0),
        ("toe_setting_deg", 2.0),
        ("rod_play", 5.0),
    ],
)
def test_every_tolerance_of_the_build_widens_what_may_come_out(capsys, tmp_path, key, value):
    loose = EXACT.replace(f"{key} = 0.0", f"{key} = {value}")
    row = ranked_of(capsys, with_accuracy(tmp_path, STRUT, loose))[0]
    assert row.chances.peak_95_deg > row.chances.peak_05_deg + 0.002


def test_the_same_seed_says_the_same_and_another_says_nearly_that(capsys):
    one, again, other = (
        [row.chances for row in ranked_of(capsys, STRUT, "--seed", seed)] for seed in (3, 3, 4)
    )
    assert one == again
    assert one != other
    for mine, its in zip(one, other, strict=True):
        assert its.peak_mean_deg == pytest.approx(mine.peak_mean_deg, rel=0.1)


@pytest.mark.parametrize(
    ("probability", "said"),
    [
        (0.0, "< 1 of 100"),
        (0.049, "4 of 100"),
        (0.1, "1 of 10"),
        (0.84, "84 of 100"),
        (0.9, "9 of 10"),
        (0.951, "95 of 100"),
        (0.999, "99 of 100"),
    ],
)
def test_a_chance_is_said_as_finely_as_it_matters(probability, said):
    assert chance(probability) == said


@pytest.mark.parametrize("car", ["track-wishbone", "two-sided-wishbone"])
def test_the_best_of_each_car_is_that_of_every_pair_with_one_rack(car):
    space = option_space(read_car(CASES / f"{car}.toml"))
    options = ranked(space, 4).fitting
    found = chances(space, options, DrawnCars(0))
    settings, peaks = [], []
    for k, wheel in enumerate(space.wheels):
        rows = rivals_of(wheel)
        settings.append(wheel.settings.rows(rows))
        cars = DrawnCars(0).of(k, wheel.evaluator)
        few = cars.points.shape[0] // WITH_RIVALS
        peaks.append(cars.peaks(settings[-1])[:, :few])
    best = np.full(few, np.inf)
    for pair in product(*(range(len(one)) for one in settings)):
        chosen = list(zip(settings, pair, strict=True))
        shared = {(one.rack_raise[row], one.forward[row], one.linkage[row]) for one, row in chosen}
        if len(shared) == 1:
            of_pair = np.max([of[row] for of, row in zip(peaks, pair, strict=True)], axis=0)
            best = np.minimum(best, of_pair)
    for option, told in zip(options, found, strict=True):
        own = np.max(
            [
                DrawnCars(0)
                .of(k, wheel.evaluator)
                .peaks(wheel.settings.rows(np.array([option.rows[k]])))[0, :few]
                for k, wheel in enumerate(space.wheels)
            ],
            axis=0,
        )
        near = own <= np.minimum(best, own) + RESOLUTION
        # Other options shown may be the best of a car too.
        assert told.near_best_probability == pytest.approx(float(near.mean()), abs=0.02)
        assert told.near_best_probability < 0.3  # by tape alone no choice is nearly sure
