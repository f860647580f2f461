"""`--rank-by`: number 1 by what settings do in the possible cars, against all of them scored."""

import numpy as np
import pytest

from optimizer.car.many_cars import ManyCars
from optimizer.files.case_file import read_car
from optimizer.limits.kept import margins_in_cars
from optimizer.options.dimensions import option_space
from optimizer.options.proof import RESOLUTION
from optimizer.wording.odds import chance
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, run, suggested

TWO_SIDED = STRUT.parent / "two-sided-wishbone.toml"
RESOLUTION_DEG = float(np.degrees(RESOLUTION))


def every_setting(path):
    """Peaks of all settings in all cars [deg], whether each fits and how surely, one wheel."""
    (wheel,) = option_space(read_car(path)).wheels
    rows = wheel.allowed
    cars = ManyCars.drawn(wheel.evaluator, seed=0)
    peaks = np.degrees(cars.mirrored().peaks(wheel.settings.rows(rows)))
    fits = wheel.fits(rows)
    wheel.find_clearances(rows[fits])
    kept = np.zeros(rows.size)
    found = margins_in_cars(
        wheel.evaluator, wheel.settings.rows(rows[fits]), wheel.margins_of(rows[fits]), cars
    )
    kept[fits] = np.logical_and.reduce([left >= 0.0 for _, left in found]).mean(axis=1)
    return peaks, kept


@pytest.mark.parametrize("criterion", ["expected", "worst"])
def test_number_1_is_proved_best_of_all_settings_that_keep_their_limits(capsys, criterion):
    peaks, kept = every_setting(WISHBONE)
    by = (
        peaks.mean(axis=1)
        if criterion == "expected"
        else np.quantile(peaks, 0.95, axis=1, method="higher")
    )
    least = by[kept >= 0.9].min()
    found = suggested(capsys, WISHBONE, "--rank-by", criterion)
    assert found.certificate.best_peak_toe_change_deg == pytest.approx(least)
    assert found.certificate.study_gap_deg == pytest.approx(0.0, abs=1e-9)
    for row in found.ranked:
        sure = row.chances
        if row.fits:
            assert sure.keeps_limits_probability >= 0.9
        if row.leading:
            assert row.ranked_peak_deg <= least + RESOLUTION_DEG
        over_half = sure.peak_mean_deg if criterion == "expected" else sure.peak_95_deg
        assert row.ranked_peak_deg == pytest.approx(over_half, abs=0.03)
    assert found.first.leading
    assert least > kept.min()


def test_the_report_says_what_the_car_as_measured_would_have_put_first_and_why_not(capsys):
    usual, found = suggested(capsys, WISHBONE), suggested(capsys, WISHBONE, "--rank-by", "expected")
    other = found.ranked_by.nominal_first
    assert other.wheels[0].outer_drop_mm == usual.first.wheels[0].outer_drop_mm
    assert other.chances.peak_mean_deg == usual.first.chances.peak_mean_deg
    assert other.chances.limits == usual.first.chances.limits
    assert other.chances.keeps_limits_probability < found.ranked_by.limits_kept
    run("suggest", WISHBONE, "--rank-by", "expected")
    said = " ".join(capsys.readouterr().out.split())
    assert "Options are ranked by the mean of their peaks over the possible cars" in said
    assert "The car as measured would put drop outer 7.5 mm, raise rack 4.0 mm first" in said


def test_where_both_put_the_same_first_the_report_says_so(capsys, tmp_path):
    path = tmp_path / "car.toml"
    keys = ("points", "stack", "ride_height", "rack_center", "toe_setting_deg", "rod_play")
    exact = "".join(f"{key} = 0.0\n" for key in keys)
    path.write_text(f"{STRUT.read_text(encoding='utf-8')}\n[accuracy]\n{exact}", encoding="utf-8")
    assert suggested(capsys, path, "--rank-by", "expected").ranked_by.nominal_first is None
    run("suggest", path, "--rank-by", "expected")
    assert "would put the same first" in " ".join(capsys.readouterr().out.split())


def test_what_keeps_its_limits_in_too_few_cars_is_refused_with_their_number(capsys):
    found = suggested(capsys, WISHBONE, "--rank-by", "worst")
    # What the car as measured would put first: it fits there, but in too few of the cars.
    stops = [one for one in found.ranked_by.nominal_first.reasons if one.kind == "chance"]
    assert stops
    for stop in stops:
        assert stop.value < stop.limit == 0.9
        assert stop.short == pytest.approx(stop.limit - stop.value)


def test_each_of_two_wheels_is_ranked_by_its_own_cars(capsys):
    found = suggested(capsys, TWO_SIDED, "--rank-by", "expected")
    assert found.ranked_by.criterion == "expected"
    means = [row.chances.peak_mean_deg for row in found.ranked if row.leading]
    # The worse wheel's mean peak is at most the mean of the worse wheel's peaks.
    assert found.certificate.best_peak_toe_change_deg <= min(means)
    run("suggest", TWO_SIDED, "--rank-by", "expected", "--verbose")
    said = " ".join(capsys.readouterr().out.split())
    # So a reader who finds another mean in the table beside it is told which is which.
    assert "Both are of each wheel by itself, the worse one counting" in said
    assert "has a mean peak, of each wheel by itself, over the possible cars, below" in said


def test_a_ranking_by_the_car_as_measured_names_what_keeps_its_limits_more_surely(capsys):
    found = suggested(capsys, WISHBONE)
    kept = {
        row.rank: row.chances.keeps_limits_probability
        for row in found.ranked
        if row.fits and not row.is_as_is
    }
    assert kept[1] < found.surer.limits_kept == 0.9
    assert found.surer.rank == min(rank for rank, sure in kept.items() if sure >= 0.9)
    run("suggest", WISHBONE)
    said = " ".join(capsys.readouterr().out.split())
    named = f"Number {found.surer.rank} keeps every limit in {chance(kept[found.surer.rank])}"
    assert f"{named} possible cars, number 1 in 7 of 10; `--rank-by expected`" in said


def test_it_names_none_where_none_is_shown_or_number_1_is_as_sure(capsys):
    assert suggested(capsys, WISHBONE, "--show", 2).surer.rank is None
    run("suggest", WISHBONE, "--show", 2)
    said = " ".join(capsys.readouterr().out.split())
    assert "in 7 of 10 possible cars; `--rank-by expected` seeks what keeps them in 9" in said
    assert suggested(capsys, TWO_SIDED).surer is None
    assert suggested(capsys, WISHBONE, "--rank-by", "expected").surer is None


def test_where_nothing_is_sure_enough_no_one_says_that_nothing_fits(capsys, tmp_path):
    path = tmp_path / "car.toml"
    text = WISHBONE.read_text(encoding="utf-8")
    path.write_text(f"{text}\n[limits]\nkept_share = 0.999\n", encoding="utf-8")
    run("suggest", path, "--rank-by", "expected", "--verbose")
    said = " ".join(capsys.readouterr().out.split())
    assert "Nothing that can be built keeps every limit in 99 of 100 of the cars" in said
    assert "none of them keeps every limit in 99 of 100 possible cars" in said
    assert "The car as measured would put drop outer 7.5 mm, raise rack 4.0 mm first, which keeps"
    by_tape = suggested(capsys, path)
    assert by_tape.first.fits


@pytest.mark.parametrize("kits", [[], ["--kits", CASES / "kits.toml"]], ids=["own", "kits"])
def test_where_nothing_is_sure_enough_what_keeps_its_limits_as_measured_comes_first(
    capsys, tmp_path, kits
):
    path = tmp_path / "car.toml"
    text = WISHBONE.read_text(encoding="utf-8")
    path.write_text(f"{text}\n[limits]\nkept_share = 1.0\n", encoding="utf-8")
    found = suggested(capsys, path, *kits, "--rank-by", "expected")
    refused = [row for row in found.ranked if not row.fits and not row.is_as_is]
    kept, broken = (
        [
            row.ranked_peak_deg
            for row in refused
            if any(stop.kind != "chance" for stop in row.reasons) == breaks
        ]
        for breaks in (False, True)
    )
    assert kept
    assert [row.ranked_peak_deg for row in refused] == sorted(kept) + sorted(broken)
