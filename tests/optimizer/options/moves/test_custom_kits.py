"""Kits of a file judged all at once: the marks, a stud's force, and a pivot made to measure."""

import json
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from optimizer.answers.options import described_options
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from optimizer.files.case_file import read_car
from optimizer.files.kits import Kits, read_kits
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.kits import Kit
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import Option, OptionSpace, option_space
from optimizer.options.hardware import case_with_kit
from optimizer.options.moves.scores import CustomScores
from optimizer.options.moves.space import CustomSpace
from optimizer.options.space import space_of
from optimizer.options.study.run import StudyPlan
from optimizer.options.trade_offs import Rivals
from optimizer.reports.terminal_suggest import suggest_report
from tests.optimizer.options.moves.custom_cars import (
    CASES,
    both_wheels,
    custom_of,
    settings_of,
    wheel_of,
    with_room,
)

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


def counts_of_all_that_fits(space: OptionSpace) -> dict[Option, tuple[object, ...]]:
    """What the report would print: effort, toe, gap, change of the steering ratio."""
    (wheel,) = space.wheels
    wheel.find_margins(wheel.allowed)
    found = {}
    for row in wheel.allowed.tolist():
        option = Option((row,))
        (told,) = described_options(space, [option])
        if told.fits:
            gap = told.wheels[0].clearance_mm
            found[option] = (
                tuple(space.effort(option).tolist()),
                round(1000.0 * told.peak_toe_change_deg),
                -round(10.0 * gap),
                round(1000.0 * abs(wheel.rate_change[row])),
            )
    return found


def test_a_mark_means_that_no_setting_of_any_kit_that_fits_is_better():
    space = option_space(read_car(WISHBONE), demo_kits().kits)
    everything = counts_of_all_that_fits(space)
    rivals, marks = Rivals(space), set()
    for option in [*list(everything)[::7], space.as_is]:
        space.peak(option)  # what is judged has been solved
        own = everything.get(option)
        beaten = own is None or any(
            other != own and all(b <= a for a, b in zip(own, other, strict=True))
            for other in everything.values()
        )
        assert rivals.unbeaten(option) == (not beaten)
        marks.add(not beaten)
    assert marks == {True, False}


# --- the stud


def test_a_kit_s_stud_has_its_force_told_on_a_car_that_states_no_stud():
    car = read_car(STRUT)
    assert car.case.stud is None
    stud = {"diameter": 14.5, "standard_height": 22.0, "grade": "ISO 898-1 class 10.9"}
    only = kit("one", stud=stud)
    answer = suggest(car, [only])
    text = " ".join(suggest_report(answer, "car").split())
    assert "It reaches its proof strength (830 MPa" in text
    assert "Fit: one: drop outer" in text
    standard = suggest(Vehicle((case_with_kit(car.case, only),))).as_is.wheels[0]
    told = answer.wheels[0].stud.standard_force_n
    assert told == pytest.approx(standard.stud_proof_force_n)


def test_a_name_with_brackets_is_printed_as_it_is():
    answer = suggest(read_car(STRUT), [kit("[red]one[/red] [/b]")])
    assert "[red]one[/red] [/b]: drop outer" in " ".join(suggest_report(answer, "car").split())


# --- a pivot made to measure


def pivot_with(car: Case | Vehicle, *kits: Kit, trials: int = 4) -> CustomPivot:
    return custom_of(car, kits, replace(PLAN, trials=trials))


def fitting_margin(pivot: CustomPivot, case: Case) -> float:
    """Least margin of a pivot by the limits of a case."""
    setting = settings_of(case, wheel_of(pivot))
    return min(float(limit.margin[0]) for limit in margins(Evaluator.of(case), setting))


def test_of_kits_alike_the_one_that_leaves_the_taper_alone_is_used_then_the_cheapest():
    car = read_car(WISHBONE).case
    drilled = kit("drilled", seat="straight-bolt", price=1.0)
    dear, cheap = kit("dear", price=90.0), kit("cheap", price=40.0)
    pivot = pivot_with(car, drilled, kit("unpriced"), dear, cheap)
    assert pivot.kit == "cheap"
    assert {offer.kit for offer in pivot.trade_offs} <= {"cheap", "dear", "unpriced", "drilled"}
    alone = pivot_with(car)
    assert alone.kit is None
    assert pivot.peak_toe_change_deg == pytest.approx(alone.peak_toe_change_deg, abs=SAME_DEG)


def test_a_kit_whose_joint_binds_gives_way_to_one_whose_joint_does_not():
    car = read_car(WISHBONE).case
    stiff = kit("stiff", price=1.0, rod_end={"tilt_limit_deg": 1.0})
    free = kit("free", price=99.0, rod_end={"tilt_limit_deg": 20.0})
    pivot = pivot_with(car, stiff, free)
    assert (pivot.kit, pivot.fits) == ("free", True)
    assert fitting_margin(pivot, case_with_kit(car, free)) >= 0.0
    assert fitting_margin(pivot, case_with_kit(car, stiff)) < 0.0


ROOM = "outer = { x = [-6.0, 6.0], y = [-8.0, 8.0] }"


@pytest.mark.parametrize("both", [False, True], ids=["one wheel", "both"])
def test_the_best_over_kits_is_no_worse_than_with_each_kit_alone(both):
    car = both_wheels(ROOM) if both else Vehicle((with_room("lowered-strut", ROOM),))
    together = pivot_with(car, *demo_kits().kits)
    alone = [pivot_with(car, one) for one in demo_kits().kits]
    best = min(one.peak_toe_change_deg for one in alone if one.fits)
    assert together.fits
    # Within gauge resolution of the best, fewer parts decide.
    assert together.peak_toe_change_deg <= best + 0.01 + SAME_DEG
    (used,) = (one for one in demo_kits().kits if one.name == together.kit)
    for case, wheel in zip(car.wheels, together.wheels, strict=True):
        heights = {stack.height for stack in space_of(case_with_kit(case, used)).stacks}
        assert wheel.outer_drop_mm in heights
    if not both:
        assert wheel_of(together).outer_drop_mm > 0.0
        assert fitting_margin(together, case_with_kit(car.case, used)) >= 0.0


def test_every_stack_of_every_kit_can_be_chosen_and_only_those():
    car = with_room("lowered-strut", "outer = { x = [-6.0, 6.0] }")
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
    car = read_car(WISHBONE).case
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


def test_of_both_wheels_whichever_kit_serves_best_is_used_at_both():
    """The kit that ranks first with its stacks binds where the pivot has to sit."""
    car = both_wheels()
    stiff = kit("stiff", price=1.0, rod_end={"tilt_limit_deg": 1.0})
    free = kit("free", price=99.0, rod_end={"tilt_limit_deg": 20.0})
    pivot, alone = pivot_with(car, stiff, free), pivot_with(car, free)
    assert not pivot_with(car, stiff).fits
    assert (pivot.kit, pivot.fits) == ("free", True)
    assert [wheel.coordinates for wheel in pivot.wheels] == [
        wheel.coordinates for wheel in alone.wheels
    ]
    assert {wheel.rack_raise_mm for wheel in pivot.wheels} == {pivot.rack_raise_mm}


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
