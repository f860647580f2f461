"""The proof, against every setting solved exactly."""

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_car, read_case
from optimizer.files.starters import starter_case
from optimizer.models.case import Case
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.candidates import Candidates
from optimizer.options.estimates import BOUND_FACTOR
from optimizer.options.proof import RESOLUTION, prove
from optimizer.options.space import space_of
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

from .exhaustive import RESOLUTION_DEG, Exhaustive

ANGLE_ATOL_DEG = 1e-9
CASES = Path(__file__).parents[3] / "cases"
STARTERS = {layout: starter_case(layout) for layout in ("strut", "double-wishbone")}


def proof_of(case: Case, wanted: int = 6):
    candidates = Candidates.of(Evaluator.of(case), space_of(case))
    return candidates, prove(candidates, wanted=wanted)


def described(text: str, **tables: dict[str, Any]) -> Case:
    """A case in millimeters with no shelf and some keys of some tables said otherwise."""
    said = tomllib.loads(text)
    said.pop("shelf", None)
    for table, keys in tables.items():
        said[table] = said.get(table, {}) | keys
    return Case.model_validate(said)


def car(layout: str, **tables: dict[str, Any]) -> Case:
    return described(STARTERS[layout], **tables)


def adjuster(low: float, high: float, step: float) -> dict[str, Any]:
    return {"stack": {"min": low, "max": high, "step": step}}


@cache
def every_setting_of(path: Path) -> Exhaustive:
    return Exhaustive(read_case(path))


@cache
def answer_for(path: Path) -> SuggestResult:
    return suggest(read_car(path))


BINDS_AT_ONCE = {"outer": {"tilt_limit_deg": 0.5}}


def test_the_proof_names_the_settings_that_trying_every_one_names(demo_car):
    every = every_setting_of(demo_car)
    candidates, proof = proof_of(every.case)
    assert np.degrees(proof.best_peak) == pytest.approx(every.best_deg, abs=ANGLE_ATOL_DEG)
    assert proof.fitting.tolist() == every.ranking[:6]
    assert candidates.allowed.size == len(every.space.settings)


@pytest.mark.parametrize("layout", STARTERS)
def test_the_proof_solves_only_a_few_of_many_settings_exactly(layout):
    fine = car(layout, outer_pivot=adjuster(-20.0, 40.0, 0.02))
    candidates, _ = proof_of(fine)
    assert candidates.allowed.size == 3001
    assert sorted(candidates.solved) == np.flatnonzero(~np.isnan(candidates.peak)).tolist()
    assert len(candidates.solved) < 0.3 * candidates.allowed.size


@pytest.mark.parametrize("layout", STARTERS)
def test_a_setting_that_the_linkage_can_t_follow_is_never_ranked(layout):
    wild = car(
        layout,
        outer_pivot=adjuster(-400.0, 400.0, 50.0),
        rack={"spacers": [-400.0, 0.0, 400.0]},
        joint={"outer": {}, "inner": {}},
    )
    every = Exhaustive(wild)
    _, proof = proof_of(wild, wanted=len(every.space.settings))
    assert np.isinf(every.peak_deg).any()
    assert proof.fitting.tolist() == every.ranking
    assert np.isfinite(every.peak_deg[proof.fitting]).all()
    assert np.isfinite(every.peak_deg[proof.refused]).all()


def test_the_refused_are_all_that_would_be_better_but_do_not_fit(demo_car):
    every = every_setting_of(demo_car)
    _, proof = proof_of(every.case)
    better = np.flatnonzero(~every.fits & (every.peak_deg < every.best_deg))
    assert proof.refused.tolist() == sorted(better, key=lambda row: every.peak_deg[row])


def test_asking_for_every_setting_ranks_every_one_that_fits(demo_car):
    every = every_setting_of(demo_car)
    _, proof = proof_of(every.case, wanted=len(every.space.settings))
    assert proof.fitting.tolist() == every.ranking


def test_what_is_already_known_does_not_change_the_proof(demo_car):
    case = read_case(demo_car)
    _, fresh = proof_of(case)
    candidates = Candidates.of(Evaluator.of(case), space_of(case))
    rows = np.arange(0, len(candidates.space.settings), 3)
    candidates.find_peaks(rows)
    candidates.find_limits(rows[::2])
    informed = prove(candidates, wanted=6)
    assert informed.fitting.tolist() == fresh.fitting.tolist()
    # Solved among others: numpy's sums may round the last digit otherwise.
    assert informed.best_peak == pytest.approx(fresh.best_peak, rel=1e-13)


@pytest.mark.parametrize("layout", STARTERS)
@pytest.mark.parametrize(
    "gain", [0.0, 0.08, -0.3], ids=["no toe gain", "toe-in in bump", "toe-out in bump"]
)
def test_the_proof_holds_far_from_the_standard_seat_and_for_a_wanted_gain(layout, gain):
    case = car(
        layout,
        outer_pivot=adjuster(-60.0, 60.0, 5.0),
        rack={"spacers": [-40.0, -20.0, 0.0, 20.0, 40.0]},
        lower_ball_joint={"drop": [0.0, 30.0]},
        aim={"toe_gain_deg_per_10mm": gain},
    )
    every = Exhaustive(case)
    _, proof = proof_of(case, wanted=20)
    assert np.degrees(proof.best_peak) == pytest.approx(every.best_deg, abs=ANGLE_ATOL_DEG)
    assert proof.fitting.tolist() == every.ranking[:20]


@pytest.mark.parametrize("layout", STARTERS)
def test_no_setting_peaks_lower_than_its_estimate_less_the_stated_bound(layout):
    case = car(
        layout,
        outer_pivot=adjuster(-60.0, 60.0, 2.0),
        rack={"spacers": [-40.0, -20.0, 0.0, 20.0, 40.0]},
    )
    every = Exhaustive(case)
    evaluator, rows = every.evaluator, every.space.settings
    estimate = np.abs(evaluator.toe_change_estimate(rows)).max(axis=1)
    rate = BOUND_FACTOR * evaluator.estimate_error_rate(rows)
    least = np.degrees(estimate - rate * estimate**2)
    assert np.all(every.peak_deg >= least - ANGLE_ATOL_DEG)
    assert np.ptp(every.peak_deg) > 1.0  # over many degrees, or this would be no test


@settings(max_examples=15, deadline=None)
@given(
    layout=st.sampled_from(sorted(STARTERS)),
    low=st.integers(-20, 20),
    steps=st.integers(0, 12),
    spacers=st.lists(st.integers(-12, 12), min_size=1, max_size=3, unique=True),
    tilt_limit=st.floats(4.0, 25.0),
    lowered_by=st.integers(-30, 40),
)
def test_the_proof_equals_trying_every_setting_of_any_hardware(
    layout, low, steps, spacers, tilt_limit, lowered_by
):
    case = car(
        layout,
        outer_pivot=adjuster(low, low + 2 * steps, 2.0),
        rack={"spacers": spacers},
        ride={"lowered_by": lowered_by},
        joint={"outer": {"tilt_limit_deg": tilt_limit}},
    )
    every = Exhaustive(case)
    _, proof = proof_of(case)
    assert proof.fitting.tolist() == every.ranking[:6]


@pytest.mark.parametrize("stack", [0.0, 5.0], ids=["nothing to fit", "one stack to fit"])
@pytest.mark.parametrize("layout", STARTERS)
def test_a_tiny_space_is_proved_too(layout, stack):
    case = car(
        layout,
        outer_pivot=adjuster(stack, stack, 1.0),
        rack={"spacers": [0.0]},
    )
    every = Exhaustive(case)
    candidates, proof = proof_of(case)
    assert candidates.allowed.size == (1 if stack == 0.0 else 2)
    assert proof.fitting.tolist() == every.ranking
    assert candidates.space.left in proof.fitting


def test_where_nothing_fits_every_setting_is_refused_best_first():
    case = car("strut", joint=BINDS_AT_ONCE)
    every = Exhaustive(case)
    _, proof = proof_of(case)
    assert not every.fits.any()
    assert proof.best_peak == np.inf
    assert proof.fitting.size == 0
    assert proof.refused.tolist() == sorted(
        range(len(every.space.settings)), key=lambda row: every.peak_deg[row]
    )


def test_where_nothing_fits_the_answer_says_so_and_why():
    answer = suggest(Vehicle((car("strut", joint=BINDS_AT_ONCE),)))
    assert answer.certificate.best_peak_toe_change_deg is None
    assert answer.certificate.study_gap_deg is None
    (wheel,) = answer.wheels
    assert wheel.expected == []
    assert wheel.curves.best_deg is None
    assert not any(setting.fits or setting.leading for setting in answer.ranked)
    for setting in answer.ranked:
        assert any(
            reason.kind == "tilt" and reason.name == "outer joint" for reason in setting.reasons
        )
        assert setting.wheels[0].tilt_margin_deg < 0.0


def test_the_leading_group_is_ordered_by_effort_and_ends_within_a_gauge_s_resolution(demo_car):
    every, answer = every_setting_of(demo_car), answer_for(demo_car)
    best = answer.certificate.best_peak_toe_change_deg
    fitting = [setting for setting in answer.ranked if setting.fits]
    leading = [setting for setting in fitting if setting.leading]
    assert np.degrees(RESOLUTION) == pytest.approx(RESOLUTION_DEG, abs=ANGLE_ATOL_DEG)
    assert leading == fitting[: len(leading)]
    for setting in fitting:
        assert setting.leading == (setting.peak_toe_change_deg <= best + RESOLUTION_DEG)

    def effort(setting):
        (wheel,) = setting.wheels
        work = len(wheel.stack_mm) + 4.0 * (setting.rack_raise_mm != 0.0)
        height = abs(wheel.outer_drop_mm)
        return not setting.is_as_is, work, height, abs(setting.rack_raise_mm)

    assert [effort(x) for x in leading] == sorted(effort(x) for x in leading)
    assert [x.wheels[0].outer_drop_mm for x in fitting[:6]] == [
        every.space.settings.outer_drop[row] for row in every.ranking[:6]
    ]


def test_leaving_it_as_it_is_leads_where_a_change_gains_less_than_a_gauge_can_show():
    every = Exhaustive(
        car(
            "strut",
            outer_pivot=adjuster(-0.05, 0.05, 0.05),
            rack={"spacers": [0.0, 0.05]},
        )
    )
    left = every.space.left
    assert every.best_deg < every.peak_deg[left] <= every.best_deg + RESOLUTION_DEG
    answer = suggest(Vehicle((every.case,)))
    assert answer.ranked[0].is_as_is
    assert answer.ranked[0].leading
    assert answer.certificate.best_peak_toe_change_deg == pytest.approx(
        every.best_deg, abs=ANGLE_ATOL_DEG
    )


def test_a_rim_that_stops_the_best_stack_is_named_with_its_place():
    answer = answer_for(CASES / "track-wishbone.toml")
    refused = [setting for setting in answer.ranked if not setting.fits]
    assert refused
    assert refused[0].peak_toe_change_deg < answer.ranked[0].peak_toe_change_deg
    said = sentence(refused[0].reasons[0], Reader(answer.subject))
    assert re.search(r"rod to 15 inch rim leaves .* at .* bump, rack .*", said)
