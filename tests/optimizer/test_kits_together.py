"""What is judged over all kits of a file at once: the marks, and the pivot made to measure."""

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.custom import custom_pivot
from optimizer.answers.kit_ranking import suggest_kits
from optimizer.answers.suggest import SuggestPlan, settings_of, suggest
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.kits import Kits, read_kits
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.kits import Kit
from optimizer.models.setting import Setting
from optimizer.options.candidates import Candidates
from optimizer.options.hardware import case_with_kit
from optimizer.options.moves.scores import CustomScores
from optimizer.options.moves.space import CustomSpace
from optimizer.options.space import space_of
from optimizer.options.study.search import StudyPlan
from optimizer.reports.terminal import suggest_report

CASES = Path(__file__).parents[2] / "cases"
WISHBONE, STRUT = CASES / "track-wishbone.toml", CASES / "lowered-strut.toml"
DEMO_KITS = CASES / "kits.toml"
PLAN = StudyPlan(trials=4)  # the fits and their refinement find what the study would
SAME_DEG = 1e-4  # a hundredth of what a gauge tells apart


@cache
def demo_kits() -> Kits:
    return read_kits(DEMO_KITS)


def kit(name: str, **more: object) -> Kit:
    stack = {"min": 0.0, "max": 20.0, "step": 1.0}
    return Kit.model_validate({"name": name, "seat": "tapered", "stack": stack} | more)


# --- the marks


def counts_of(told: Setting, effort: tuple[float, ...], rate: float) -> tuple[object, ...]:
    """What the report would print: effort, toe, gap, change of the steering ratio."""
    gap = -round(10.0 * told.clearance_mm)
    return effort, round(1000.0 * told.peak_toe_change_deg), gap, round(1000.0 * abs(rate))


def counts_of_every_fitting_setting(case: Case, *, fitted: bool) -> list[tuple[object, ...]]:
    """Of a case with a kit fitted, or of leaving the car as it is."""
    space, evaluator = space_of(case), Evaluator.of(case)
    rate = evaluator.steer_rate(space.settings)
    rate = rate / rate[space.left] - 1.0
    rows = np.array([row for row in range(len(rate)) if (row != space.left) == fitted])
    told, effort = settings_of(Candidates(evaluator, space), rows), space.effort()
    return [
        counts_of(one, tuple(effort[:, row]), rate[row])
        for row, one in zip(rows, told, strict=True)
        if one.fits
    ]


def test_a_mark_means_that_no_setting_of_any_kit_that_fits_is_better():
    car = read_case(WISHBONE)
    everything = counts_of_every_fitting_setting(car, fitted=False)
    for one in demo_kits().kits:
        everything += counts_of_every_fitting_setting(case_with_kit(car, one), fitted=True)
    ranked = suggest_kits(car, demo_kits(), SuggestPlan(StudyPlan(trials=1))).ranked
    for row in ranked:
        moved, stack = row.rack_raise_mm != 0.0, abs(row.outer_drop_mm)
        effort = (float(not row.is_as_is), len(row.stack_mm) + moved, stack, abs(row.rack_raise_mm))
        own = counts_of(row, effort, 0.01 * row.steer_rate_change_percent)
        beaten = any(
            other != own and all(b <= a for a, b in zip(own, other, strict=True))
            for other in everything
        )
        assert row.unbeaten == (row.fits and not beaten)
    assert {row.unbeaten for row in ranked} == {True, False}


# --- the stud


def test_a_kit_s_stud_has_its_force_told_on_a_car_that_states_no_stud():
    car = read_case(STRUT)
    assert car.stud is None
    stud = {"diameter": 14.5, "standard_height": 22.0, "grade": "ISO 898-1 class 10.9"}
    only = Kits((kit("one", stud=stud),), None, None)
    answer = suggest_kits(car, only, SuggestPlan(StudyPlan(trials=1)))
    text = " ".join(suggest_report(answer, "car").split())
    assert "It reaches its proof strength (830 MPa" in text
    assert "Fit: one: drop outer" in text
    standard = suggest(case_with_kit(car, only.kits[0]), SuggestPlan(StudyPlan(trials=1))).as_is
    assert answer.stud.standard_force_n == pytest.approx(standard.stud_proof_force_n)


def test_a_name_with_brackets_is_printed_as_it_is():
    only = Kits((kit("[red]one[/red] [/b]"),), None, None)
    answer = suggest_kits(read_case(STRUT), only, SuggestPlan(StudyPlan(trials=1)))
    assert "[red]one[/red] [/b]: drop outer" in " ".join(suggest_report(answer, "car").split())


# --- a pivot made to measure


def pivot_with(case: Case, *kits: Kit, trials: int = 4) -> CustomPivot:
    return custom_pivot(Evaluator.of(case), replace(PLAN, trials=trials), None, None, kits)


def fitting_margin(pivot: CustomPivot, case: Case) -> float:
    """Least margin of a pivot by the limits of a case."""
    moves = np.array([[told.move_mm for told in pivot.coordinates]])
    setting = Settings(
        np.array([pivot.outer_drop_mm]),
        np.array([pivot.rack_raise_mm]),
        np.array([pivot.ball_joint_drop_mm]),
        moves,
        0.0 * moves,
    )
    return min(float(limit.margin[0]) for limit in margins(Evaluator.of(case), setting))


def test_of_kits_alike_the_one_that_leaves_the_taper_alone_is_used_then_the_cheapest():
    car = read_case(WISHBONE)
    drilled = kit("drilled", seat="straight-bolt", price=1.0)
    dear, cheap = kit("dear", price=90.0), kit("cheap", price=40.0)
    pivot = pivot_with(car, drilled, kit("unpriced"), dear, cheap)
    assert pivot.kit == "cheap"
    assert {offer.kit for offer in pivot.trade_offs} <= {"cheap", "dear", "unpriced", "drilled"}
    alone = pivot_with(car)
    assert alone.kit is None
    assert pivot.peak_toe_change_deg == pytest.approx(alone.peak_toe_change_deg, abs=SAME_DEG)


def test_a_kit_whose_joint_binds_gives_way_to_one_whose_joint_does_not():
    car = read_case(WISHBONE)
    stiff = kit("stiff", price=1.0, rod_end={"tilt_limit_deg": 1.0})
    free = kit("free", price=99.0, rod_end={"tilt_limit_deg": 20.0})
    pivot = pivot_with(car, stiff, free)
    assert (pivot.kit, pivot.fits) == ("free", True)
    assert fitting_margin(pivot, case_with_kit(car, free)) >= 0.0
    assert fitting_margin(pivot, case_with_kit(car, stiff)) < 0.0


def test_the_best_over_kits_is_no_worse_than_with_each_kit_alone():
    car = with_room(STRUT, "outer = { x = [-6.0, 6.0], y = [-8.0, 8.0] }")
    together = pivot_with(car, *demo_kits().kits)
    alone = [pivot_with(car, one) for one in demo_kits().kits]
    best = min(one.peak_toe_change_deg for one in alone if one.fits)
    assert together.fits
    # Within gauge resolution of the best, fewer parts decide.
    assert together.peak_toe_change_deg <= best + 0.01 + SAME_DEG
    assert together.outer_drop_mm > 0.0
    (used,) = (one for one in demo_kits().kits if one.name == together.kit)
    heights = {stack.height for stack in space_of(case_with_kit(car, used)).stacks}
    assert together.outer_drop_mm in heights
    assert fitting_margin(together, case_with_kit(car, used)) >= 0.0


def with_room(path: Path, room: str) -> Case:
    text = path.read_text()
    (old,) = re.findall(r"\[custom_pivot\].*\n(.*)\n", text)
    return case_from_toml(text.replace(old, room), "car")


def test_every_stack_of_every_kit_can_be_chosen_and_only_those():
    car = with_room(STRUT, "outer = { x = [-6.0, 6.0] }")
    space = CustomSpace.of([case_with_kit(car, one) for one in demo_kits().kits])
    kits, steps, _, _ = space.sizes
    for place in range(kits):
        chosen = [space.stack(np.array([place, step, 0, 0])) for step in range(steps)]
        assert list(dict.fromkeys(chosen)) == space.stacks[place]
        for below, above in zip(space.stacks[place], space.stacks[place][1:], strict=False):
            between = 0.5 * (below.height + above.height)
            about = space.steps_about(place, between)
            assert [space.stack(np.array([place, step, 0, 0])) for step in about] == [below, above]
        outside = space.steps_about(place, -99.0), space.steps_about(place, 99.0)
        assert outside == ([0], [space.steps_about(place, space.stacks[place][-1].height)[-1]])


def test_limits_of_many_kits_at_once_are_those_of_each_alone():
    car = read_case(WISHBONE)
    cases = [case_with_kit(car, one) for one in demo_kits().kits]
    shared = Evaluator.of(car)
    scores = CustomScores([replace(shared, case=case) for case in cases], CustomSpace.of(cases))
    places = np.arange(24)
    choices = np.column_stack([places % len(cases), 0 * places, places % 5, 0 * places])
    moves = np.random.default_rng(3).uniform(scores.space.low, scores.space.high, (24, 6))
    violation, gap = scores.violation_and_clearance(choices, moves)
    for k, choice in enumerate(choices):
        setting = scores.space.settings(choice[None], moves[[k]])
        found = margins(Evaluator.of(cases[choice[0]]), setting)
        least = min(float(limit.margin[0]) for limit in found)
        assert violation[k] == pytest.approx(max(0.0, -least), abs=1e-9)
        assert gap[k] == pytest.approx(
            min(float(limit.value[0]) for limit in found if limit.kind == "gap"), abs=1e-9
        )
    assert 0 < np.count_nonzero(violation) < len(violation)


def test_the_command_names_the_kit_of_the_pivot(capsys):
    arguments = ["suggest", str(WISHBONE), "--custom", "--kits", str(DEMO_KITS), "--trials", "4"]
    assert main([*arguments, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    names = [one.name for one in demo_kits().kits]
    assert told["custom"]["kit"] in names
    assert {offer["kit"] for offer in told["custom"]["trade_offs"]} <= set(names)
    best_stack = told["certificate"]["best_peak_toe_change_deg"]
    assert told["custom"]["best_stack_peak_toe_change_deg"] == best_stack
    assert main(arguments) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"with the kit {told['custom']['kit']}" in said
    assert "* no setting of any kit that fits beats it" in said
