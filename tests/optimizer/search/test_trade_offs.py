"""Trade-offs against the slow way: every setting's counts, and every pair compared."""

from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, settings_of, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.models.case import Case
from optimizer.options import trade_offs
from optimizer.options.candidates import Candidates
from optimizer.options.space import space_of
from optimizer.options.study.search import StudyPlan
from optimizer.options.trade_offs import unbeaten, unbeaten_rows

CASES = Path(__file__).parents[3] / "cases"


def candidates_of(case: Case) -> Candidates:
    return Candidates(Evaluator.of(case), space_of(case))


def beaten_by(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return all(b <= a for a, b in zip(one, other, strict=True)) and one != other


def counts_of_every_fitting_setting(candidates: Candidates) -> dict[int, tuple[float, ...]]:
    """What the report would print, by row: effort keys, toe, gap and a front axle's steer rate."""
    rows = np.arange(len(candidates.space.settings))
    settings, effort = settings_of(candidates, rows), candidates.space.effort()
    rate = candidates.evaluator.steer_rate(candidates.space.settings)
    front = candidates.evaluator.case.car.axle == "front"
    return {
        int(row): (
            tuple(effort[:, row]),
            round(setting.peak_toe_change_deg * 1000.0),
            -round((setting.clearance_mm or 0.0) * 10.0),
            *(
                [round(abs(rate[row] / rate[candidates.space.left] - 1.0) * 1000.0)]
                if front
                else []
            ),
        )
        for row, setting in zip(rows, settings, strict=True)
        if setting.fits
    }


def test_of_equal_rows_both_are_kept_and_of_a_worse_one_none():
    counts = np.array([[1.0, 2.0], [1.0, 2.0], [1.0, 3.0], [0.0, 9.0]])
    assert unbeaten(counts).tolist() == [True, True, False, True]


def test_what_is_kept_is_what_no_pair_of_rows_refutes():
    counts = np.random.default_rng(5).integers(0, 6, size=(120, 4)).astype(float)
    slow = [not any(beaten_by(tuple(row), tuple(other)) for other in counts) for row in counts]
    assert unbeaten(counts).tolist() == slow
    assert 0 < sum(slow) < len(slow)


def test_a_mark_means_that_no_setting_of_the_car_that_fits_is_better(demo_car):
    candidates = candidates_of(read_case(demo_car))
    counts = counts_of_every_fitting_setting(candidates)
    slow = [
        row in counts and not any(beaten_by(counts[row], other) for other in counts.values())
        for row in range(len(candidates.space.settings))
    ]
    rows = np.unique(np.linspace(0, len(slow) - 1, 40).astype(np.intp))
    assert unbeaten_rows(candidates_of(read_case(demo_car)), rows) == [slow[row] for row in rows]


def test_leaving_the_car_as_it_is_is_never_beaten(demo_car):
    answer = suggest(read_case(demo_car), SuggestPlan(StudyPlan(trials=4)))
    (as_is,) = (row for row in answer.ranked if row.is_as_is)
    assert as_is.steer_rate_change_percent == (None if answer.subject.axle == "rear" else 0.0)
    assert as_is.unbeaten == as_is.fits


def test_a_setting_that_does_not_fit_is_never_marked(demo_car):
    answer = suggest(read_case(demo_car), SuggestPlan(StudyPlan(trials=4), shown=12))
    assert not any(row.unbeaten for row in answer.ranked if not row.fits)
    assert any(row.unbeaten for row in answer.ranked)


@pytest.mark.parametrize("most", ["MOST_CHECKED", "MOST_SOLVED"])
def test_where_too_many_would_have_to_be_looked_at_nothing_is_claimed(monkeypatch, most):
    monkeypatch.setattr(trade_offs, most, 0)
    case = read_case(CASES / "track-wishbone.toml")
    known = candidates_of(case)
    rows = np.arange(len(known.space.settings))
    fitting = rows[known.fits(rows)]
    assert unbeaten_rows(candidates_of(case), fitting[-3:]) == [None] * 3
