"""Whether what the program says of its own knowledge comes true, on cars whose truth is known.

Ranks of the truth among draws from the posterior are spread evenly where that is right: simulation-
based calibration, Talts et al., arXiv 1804.06788.  All is slow, and printed with ``-s``.
"""

from itertools import islice, product

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import kstest

from geometry.vectors import turned
from geometry.wheel_angles import toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped, moved_corner, sampled_motion
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.gauging.fit import fitted_points
from optimizer.gauging.loop import gauge
from optimizer.gauging.next_stack import possible_cars
from optimizer.gauging.observation import Observation, toe
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of

from . import one_visit
from .garage import DIAL_NOISE_MM, SPACING_MM, STROKE_MM, SWEPT_MM
from .garage_cars import KINDS
from .one_visit_table import STUDY, group_name, losses
from .sweeps import true_car

CARS_OF_EACH = 220  # of five kinds
STACKS_MM = (10.0, 20.0, 35.0)
NOISE = DIAL_NOISE_MM * 2.0**0.5 / SPACING_MM
TURNED_MM, TURNS_NOISE = 3.0, 0.015 * 1.5
NINE_IN_TEN = 0.9
HARDLY = 1e-3  # how improbable ranks may be that are spread evenly

pytestmark = pytest.mark.slow


def toe_in(tape, corner, drop=0.0, travel=0.0, longer=0.0):
    """Toe of cars with a stack, from what it is at ride height, (N,). [rad]."""
    motion = sampled_motion(
        tape, corner, Settings.single(drop), np.array([travel, 0.0]), longer=np.array([longer, 0.0])
    )
    angle = toe_angle(turned(motion.rotation, tape.corner.spin))
    return angle[:, 0] - angle[:, 1]


def asked_of(tape, corner):
    """What is asked of every car: the arm that a rod works on, and toe with stacks yet to come."""
    found = {"effective arm": 1.0 / toe_in(tape, corner, longer=1.0)}
    for drop in STACKS_MM:
        for travel in (-STROKE_MM, STROKE_MM):
            found[f"{drop:.0f} mm, {travel:+.0f}"] = toe_in(tape, corner, drop, travel)
    return found


def ranks_of(kind, *, turned_too):
    """Share of draws below the truth, for each thing that is asked, of many cars of a kind."""
    rng = np.random.default_rng([7, *kind.name.encode(), turned_too])
    ranks = {}
    for number in range(CARS_OF_EACH):
        tape = Evaluator.of(one_visit._case(kind, rng))
        errors = rng.normal(size=(1, len(point_names(tape.corner)), 3))
        true = moved_corner(tape, errors)
        none = np.zeros(SWEPT_MM.size)
        rows = [Observation.of(toe, Settings.single(), none, NOISE, travel=SWEPT_MM)]
        if turned_too:
            worth = abs(toe_in(tape, as_taped(tape), longer=1.0)[0]) * TURNS_NOISE
            noise = np.array([NOISE, np.hypot(NOISE, worth)])
            longer = np.array([0.0, TURNED_MM])
            rows.append(Observation.of(toe, Settings.single(), np.zeros(2), noise, longer=longer))
        read = [_read(one, tape, true, rng) for one in rows]
        fit = fitted_points(tape, read)
        drawn, truth = asked_of(tape, possible_cars(tape, fit, number)), asked_of(tape, true)
        for name, value in truth.items():
            ranks.setdefault(name, []).append(float(np.mean(drawn[name] < value[0])))
    return ranks


def _read(one, tape, true, rng):
    seen = one.foretold(tape, true)[0] + one.noise * rng.normal(size=one.noise.size)
    return replace(one, seen=seen)


@pytest.mark.parametrize("turned_too", [False, True], ids=["one sweep", "and the rod turned"])
def test_the_truth_ranks_evenly_among_the_cars_that_readings_leave(turned_too):
    every = {}
    for kind in KINDS:
        for name, found in ranks_of(kind, turned_too=turned_too).items():
            every.setdefault(name, {})[kind.name] = np.array(found)
    assert len(KINDS) * CARS_OF_EACH >= 1000
    print(f"\n{len(KINDS) * CARS_OF_EACH} cars: in the middle half / nine tenths of the draws")  # noqa: T201
    for name, by_kind in every.items():
        ranks = np.concatenate([*by_kind.values()])
        half, nine = (float(np.mean(np.abs(ranks - 0.5) <= 0.5 * x)) for x in (0.5, NINE_IN_TEN))
        even = kstest(ranks, "uniform").pvalue
        print(f"{name:>16}  {half:.3f}  {nine:.3f}  evenly spread: p = {even:.3f}")  # noqa: T201
        assert even > HARDLY
        # Three standard deviations of 1,100 cars; by kind, of 220.
        assert nine == pytest.approx(NINE_IN_TEN, abs=0.027)
        for found in by_kind.values():
            of_kind = float(np.mean(np.abs(found - 0.5) <= 0.5 * NINE_IN_TEN))
            assert of_kind == pytest.approx(NINE_IN_TEN, abs=0.061)


def test_in_as_many_cars_as_the_program_says_one_sweep_is_enough():
    said, was = {}, {}
    found = STUDY.kept()
    for kind, group in product(KINDS, one_visit.GROUPS):
        group_said = group_name(group)
        then = found[kind.name][group_said]
        seeds = [one_visit.SEED, *kind.name.encode(), int(group[0])]
        cars = islice(one_visit._cars(kind, group, np.random.default_rng(seeds)), len(then))
        for number, (tape, _) in enumerate(cars):
            rng = np.random.default_rng([*seeds, number])
            true = true_car(tape, rng)
            sweep = Readings.model_validate(one_visit._Read(true, rng).sweep())
            (wheel,) = gauge(Vehicle((tape.case,)), [sweep]).wheels
            said.setdefault(group_said, []).append(wheel.next_readings.enough_of_100)
        within = losses(then, "sweep") <= 0.01 + 1e-9
        was.setdefault(group_said, []).extend(100.0 * within)
    for group in said:
        print(f"\n{group:>6} mm: said {np.mean(said[group]):.0f}, were {np.mean(was[group]):.0f}")  # noqa: T201
        # Three standard deviations of 70 cars, of which half are enough, are 18 of 100.
        assert np.mean(was[group]) == pytest.approx(np.mean(said[group]), abs=15.0)
    everyone = [np.concatenate([*by_group.values()]).mean() for by_group in (said, was)]
    print(f"   all: said {everyone[0]:.0f}, were {everyone[1]:.0f}")  # noqa: T201
    assert everyone[1] == pytest.approx(everyone[0], abs=8.0)


def steered(read, tape):
    """Angles on a turn plate at four rack travels, to 0.25 deg."""
    racks = np.array([-40.0, -20.0, 20.0, 40.0])
    motion = sampled_motion(
        read.true, as_taped(read.true), Settings.single(), np.zeros(4), rack=racks
    )
    left = -np.degrees(toe_angle(turned(motion.rotation, tape.corner.spin)))[0]
    left = left + 0.25 * read.rng.normal(size=4)
    return {"readings": np.column_stack([racks, left]).tolist()}


def test_what_is_ranked_first_beats_the_others_on_the_exact_model():
    """A reading each on cars with tall corrections: what the stack then loses, in truth."""
    lost, foretold = {}, {}
    for kind in KINDS:
        seeds = [one_visit.SEED, *kind.name.encode(), 99]
        cars = islice(one_visit._cars(kind, (10.0, 35.0), np.random.default_rng(seeds)), 8)
        for number, (tape, _) in enumerate(cars):
            rng = np.random.default_rng([*seeds, number])
            true = true_car(tape, rng)
            settings = space_of(tape.case).settings
            peaks = np.degrees(np.abs(true.toe_change(settings)).max(axis=1))
            heights, read = settings.outer_drop.tolist(), one_visit._Read(true, rng)
            sweep = read.sweep()
            (told,) = gauge(Vehicle((tape.case,)), [Readings.model_validate(sweep)]).wheels
            first = told.next.outer_drop_mm
            ends = np.array([-STROKE_MM, 0.0, STROKE_MM])
            ways = {
                "sweep": [sweep, read.sweep()],
                "rod_turned": [sweep | {"rod_turned": [read.rod_turned()]}],
                "camber": [sweep | {"camber": read.camber()}],
                "steered": [sweep | {"steered": steered(read, tape)}],
                "three_with_stack": [sweep, read.sweep(first, ends)],
            }
            for one in told.next_readings.ranked:
                if one.kind in ways:
                    then = one_visit._next(tape, ways[one.kind]).outer_drop_mm
                    found = float(peaks[heights.index(then)] - peaks.min())
                    lost.setdefault(one.kind, []).append(found)
                    foretold.setdefault(one.kind, []).append(one.loss_deg)
    mean = {kind: float(np.mean(found)) for kind, found in lost.items()}
    print()  # noqa: T201
    for kind, found in sorted(mean.items(), key=lambda one: one[1]):
        print(f"{kind:>16}: {found:.4f} deg lost, foretold {np.mean(foretold[kind]):.4f}")  # noqa: T201
    ranked = sorted(foretold, key=lambda kind: np.mean(foretold[kind]))
    assert ranked[0] == "three_with_stack"
    assert mean[ranked[0]] == min(mean.values())
    assert mean["rod_turned"] < mean["camber"]
    assert mean["rod_turned"] < mean["sweep"]
    for kind, found in mean.items():
        assert found < 2.5 * np.mean(foretold[kind]) + 0.002
