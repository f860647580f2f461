"""Trade-offs of whole answers, and rows against every pair compared.

That a mark means what it says is checked in ``test_dimensions``, where every option is tried.
"""

from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import read_car
from optimizer.options import trade_offs
from optimizer.options.dimensions import Option, option_space
from optimizer.options.study.run import StudyPlan
from optimizer.options.trade_offs import MOST_CHECKED, Rivals, unbeaten

CASES = Path(__file__).parents[3] / "cases"


def beaten_by(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return all(b <= a for a, b in zip(one, other, strict=True)) and one != other


def answer(path: Path, shown: int = 6):
    return suggest(read_car(path), plan=SuggestPlan(StudyPlan(trials=4), shown=shown))


def test_of_equal_rows_both_are_kept_and_of_a_worse_one_none():
    counts = np.array([[1.0, 2.0], [1.0, 2.0], [1.0, 3.0], [0.0, 9.0]])
    assert unbeaten(counts).tolist() == [True, True, False, True]


def test_what_is_kept_is_what_no_pair_of_rows_refutes():
    counts = np.random.default_rng(5).integers(0, 6, size=(120, 4)).astype(float)
    slow = [not any(beaten_by(tuple(row), tuple(other)) for other in counts) for row in counts]
    assert unbeaten(counts).tolist() == slow
    assert 0 < sum(slow) < len(slow)


def test_leaving_the_car_as_it_is_is_never_beaten(demo_car):
    told = answer(demo_car)
    (as_is,) = (row for row in told.ranked if row.is_as_is)
    unchanged = None if told.subject.axle == "rear" else 0.0
    assert [wheel.steer_rate_change_percent for wheel in as_is.wheels] == [unchanged] * len(
        as_is.wheels
    )
    assert as_is.unbeaten == as_is.fits


def test_a_setting_that_does_not_fit_is_never_marked(demo_car):
    told = answer(demo_car, shown=12)
    assert not any(row.unbeaten for row in told.ranked if not row.fits)
    assert any(row.unbeaten for row in told.ranked)


@pytest.mark.parametrize("most", ["checked", "solved"])
def test_where_too_many_would_have_to_be_looked_at_nothing_is_claimed(monkeypatch, most):
    vehicle = read_car(CASES / "track-wishbone.toml")
    (wheel,) = (space := option_space(vehicle)).wheels
    rows = np.arange(len(wheel.settings))
    options = [Option((int(row),)) for row in rows[wheel.fits(rows)][::6]]
    beaten = [one for one in options if Rivals(space).unbeaten(one) is False]
    assert beaten
    unlooked = option_space(vehicle)
    checks_left = 0 if most == "checked" else MOST_CHECKED
    if most == "solved":
        monkeypatch.setattr(trade_offs, "MOST_SOLVED", 0)
    assert {Rivals(unlooked, checks_left).unbeaten(one) for one in beaten} == {None}
