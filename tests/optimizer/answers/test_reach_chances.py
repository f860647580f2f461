"""`reach --chances`: in how many possible cars a height is met, against each car by itself."""

import json

import numpy as np
import pytest

from optimizer.answers.reach import reach
from optimizer.answers.reach_chances import CARS, with_chances
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.files.case_file import read_car, read_case
from optimizer.limits.margins import margins
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of
from tests.optimizer.command_line import STRUT, WISHBONE, run

KITS = STRUT.parent / "kits.toml"
TWO_SIDED = STRUT.parent / "two-sided-wishbone.toml"
EXACT = {"points": 0.0, "stack": 0.0, "ride_height": 0.0, "rack_center": 0.0, "rod_play": 0.0}
EXACT |= {"toe_setting_deg": 0.0}


def rows_of(capsys, *arguments):
    run("reach", *arguments, "--json")
    return json.loads(capsys.readouterr().out)["heights"]


def known_exactly(case):
    return case.model_copy(update={"accuracy": case.accuracy.model_copy(update=EXACT)})


def test_a_height_is_met_in_as_many_cars_as_have_a_setting_that_serves_them():
    """Each car followed by itself, its toe with the exact rod and its limits exactly."""
    case = read_case(WISHBONE)
    coarse = case.outer_pivot.model_copy(
        update={"stack": case.outer_pivot.stack.model_copy(update={"step": 5.0})}
    )
    case = case.model_copy(
        update={"outer_pivot": coarse, "aim": case.aim.model_copy(update={"tolerance_deg": 0.15})}
    )
    vehicle = Vehicle((case,))
    (row,) = with_chances(reach(vehicle, [30.0]), vehicle).heights
    evaluator = Evaluator.of(case)
    settings, cars = space_of(case).settings, ManyCars.drawn(evaluator, 0, count=CARS)
    met = []
    for k in range(0, CARS, 4):
        stands = case.ride.lowered_by + float(cars.raised[k, 0])
        toe = float(np.degrees(evaluator.static_toe + cars.toe[k, 0]))
        ride = case.ride.model_copy(update={"lowered_by": stands, "toe_deg": toe})
        moved = case.model_copy(update={"ride": ride})
        one = Evaluator(moved, cars.corner.row(k), evaluator.travel, {})
        good = np.abs(np.degrees(one.toe_change(settings))).max(axis=1) <= 0.15
        kept = np.min([x.margin for x in margins(one, settings)], axis=0) >= 0.0
        met.append(bool((good & kept).any()))
    share = np.mean(met)
    assert 0.1 < share < 0.95
    # Of the same cars every fourth: sampling, and limits to first order.
    assert row.chances.met_probability == pytest.approx(share, abs=0.08)


def test_a_car_known_and_built_exactly_is_met_for_sure_where_it_is_met_at_all():
    vehicle = Vehicle(tuple(known_exactly(case) for case in read_car(TWO_SIDED).wheels))
    heights = [0.0, 20.0, 40.0, 70.0]
    found = with_chances(reach(vehicle, heights), vehicle)
    assert {row.reachable for row in found.heights} == {True, False}
    for row in found.heights:
        assert row.chances.met_probability == float(row.reachable)


def test_every_kit_at_every_height_tells_its_chance_and_a_wider_kit_no_smaller_one(capsys):
    rows = rows_of(capsys, WISHBONE, "--kits", KITS, "--heights", "20:40:20", "--chances")
    assert len(rows) == 12
    assert all(0.0 <= row["chances"]["met_probability"] <= 1.0 for row in rows)
    told = {(row["lowered_by_mm"], row["kit"]): row["chances"]["met_probability"] for row in rows}
    for height in (20.0, 40.0):
        assert told[height, "Short tapered stud"] > told[height, "Extra long tapered stud"]


def test_a_seed_says_the_same_again_and_nothing_is_drawn_unasked(capsys):
    asked = (STRUT, "--heights", "40:40:1", "--chances", "--seed")
    one, again, other = (rows_of(capsys, *asked, seed)[0]["chances"] for seed in (1, 1, 2))
    assert one == again
    assert one["met_probability"] == pytest.approx(other["met_probability"], abs=0.15)
    assert rows_of(capsys, STRUT, "--heights", "40:40:1")[0]["chances"] is None


def test_the_map_and_the_words_tell_the_chance(capsys):
    run("reach", WISHBONE, "--heights", "20:30:10", "--chances")
    said = " ".join(capsys.readouterr().out.split())
    assert "30.0 mm lower is met in 56 of 100 such cars" in said
    assert "Behind it: in how many of 256 possible cars" in said
    assert said.count(" % ") == 2
