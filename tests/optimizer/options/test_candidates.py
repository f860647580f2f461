"""What a few places tell of the limits, against every place."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.options.candidates import Candidates
from optimizer.options.space import space_of


def with_tilt_limit(case: Case, limit_deg: float) -> Case:
    outer = case.joint.outer.model_copy(update={"tilt_limit_deg": limit_deg})
    return case.model_copy(update={"joint": case.joint.model_copy(update={"outer": outer})})


@pytest.mark.parametrize("at_a_time", [1, 7, 1000])
@pytest.mark.parametrize("limit_deg", [9.5, 11.0])
def test_what_fits_is_the_same_however_few_places_are_looked_at_first(
    demo_car, limit_deg, at_a_time
):
    case = with_tilt_limit(read_case(demo_car), limit_deg)
    candidates = Candidates.of(Evaluator.of(case), space_of(case))
    rows = np.arange(len(candidates.space.settings))[::3]
    limits = margins(candidates.evaluator, candidates.settings.rows(rows))
    worst = np.max([-limit.margin for limit in limits], axis=0)
    for start in range(0, rows.size, at_a_time):
        candidates.find_limits(rows[start : start + at_a_time])
    found = candidates.violation[rows]
    assert ((found > 0.0) == (worst > 0.0)).all()
    # At one place a limit is broken by no more than at its worst place.
    assert (found <= np.maximum(worst, 0.0) + 1e-9).all()


def test_the_margins_of_a_row_are_the_same_whether_it_was_looked_at_or_not(demo_car):
    case = read_case(demo_car)
    looked, fresh = (Candidates.of(Evaluator.of(case), space_of(case)) for _ in range(2))
    rows = np.arange(len(looked.settings))[:: len(looked.settings) // 3]
    looked.find_margins(rows)
    for row in rows[:, None]:
        for one, other in zip(looked.margins(row), fresh.margins(row), strict=True):
            assert (one.kind, one.name, one.limit) == (other.kind, other.name, other.limit)
            assert one.margin == pytest.approx(other.margin, abs=1e-9)
            assert (one.travel, one.rack_travel) == (other.travel, other.rack_travel)
