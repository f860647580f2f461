"""What to read next: ranked by what the stack chosen after it would lose."""

import json

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from optimizer.files.case_file import car_from_toml, case_from_toml, read_car, read_case
from optimizer.files.toml_file import file_text
from optimizer.gauging.before_reading import readings_before

from .conftest import CASES
from .sweeps import as_swept, judged, true_car

TRAVEL = np.arange(-50.0, 51.0, 10.0)
SLOW_TAPE = "point_again = 500.0\nlength_again = 500.0\n"


def swept_car(case, seed=1):
    """One sweep at the standard seat of a car that the tape has missed."""
    return as_swept(true_car(Evaluator.of(case), seed), TRAVEL)


def ranked(case):
    return judged(case, [swept_car(case)]).next_readings


@pytest.mark.parametrize("car", ["track-wishbone", "kit-car-inches"])
def test_what_a_millimeter_is_worth_is_asked_for_before_the_same_once_more(car):
    found = ranked(read_case(CASES / f"{car}.toml"))
    order = [one.kind for one in found.ranked]
    assert order[0] == "three_with_stack"
    assert order.index("rod_turned") < order.index("camber")
    assert order.index("rod_turned") < order.index("sweep")
    losses = [one.loss_deg for one in found.ranked]
    assert losses == sorted(losses)
    (worth,) = (one for one in found.ranked if one.worth_it)
    assert worth.kind == "rod_turned"  # nearly as good as turn plates, in a fifth of their time
    assert worth.enough_of_100 > found.enough_of_100 + 10.0


def test_points_known_exactly_leave_nothing_to_read():
    text = file_text(CASES / "track-wishbone.toml")
    exact = case_from_toml(text + "\n[accuracy]\npoints = 0.05\n", "exact")
    found = ranked(exact)
    assert found.enough_of_100 == 100.0
    assert found.loss_deg < 1e-3
    assert not any(one.worth_it for one in found.ranked)


def test_minutes_of_the_case_decide_what_is_worth_it():
    text = file_text(CASES / "track-wishbone.toml")
    slow = case_from_toml(
        text + "\n[minutes]\nrod_turned = 200.0\nsteered = 500.0\n" + SLOW_TAPE, "slow"
    )
    (worth,) = (one for one in ranked(slow).ranked if one.worth_it)
    assert (worth.kind, worth.minutes) == ("three_with_stack", 20.0)


def test_a_rear_wheel_is_not_asked_to_be_steered():
    kinds = {one.kind for one in ranked(read_case(CASES / "five-link-rear.toml")).ranked}
    assert kinds - {"point", "length", "points"} == {
        *("sweep", "rod_turned", "sideways", "camber", "three_with_stack")
    }


def test_the_share_that_is_enough_is_that_of_cars_driven_through_the_exact_model():
    case = read_case(CASES / "track-wishbone.toml")
    answer = judged(case, [swept_car(case)])
    again = judged(case, [swept_car(case)], seed=7).next_readings
    # 400 cars each: two standard deviations of a share of 60 % are 5 cars of 100.
    assert answer.next_readings.enough_of_100 == pytest.approx(again.enough_of_100, abs=7.0)


def test_the_report_says_what_to_read_and_the_json_ranks_all(tmp_path, capsys):
    case = read_case(CASES / "track-wishbone.toml")
    rows = [[float(t), float(toe)] for t, toe in swept_car(case).readings]
    path = tmp_path / "sweep.toml"
    path.write_text(
        'format = 1\nunits = "mm"\nkind = "angle"\nreading_grows = "toe-in"\ntotal = false\n'
        f"noise = 0.005\nouter_drop = 0.0\nrack_raise = 0.0\nreadings = {rows}\n",
        encoding="utf-8",
    )
    wishbone = str(CASES / "track-wishbone.toml")
    assert main(["gauge", wishbone, str(path)]) in (0, 1)
    said = " ".join(capsys.readouterr().out.split())
    assert "of 100 such cars; read with the tie rod turned (2 min): in" in said
    assert main(["gauge", wishbone, str(path), "--json"]) in (0, 1)
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    ranking = wheel["next_readings"]["facts"]["ranked"]
    assert {one["kind"] for one in ranking} >= {"rod_turned", "three_with_stack"}


def test_no_more_heights_are_read_than_tell_something():
    found = ranked(read_case(CASES / "track-wishbone.toml")).ranked
    by_kind = {one.kind: one for one in found}
    assert len(by_kind["sweep"].travel_mm) == TRAVEL.size
    assert by_kind["three_with_stack"].travel_mm == [-40.0, 0.0, 40.0]  # the used travel's ends
    for kind in ("camber", "sideways"):  # more of them where their noise is what counts
        assert len(by_kind[kind].travel_mm) in (3, TRAVEL.size)
    assert by_kind["rod_turned"].travel_mm == []


def test_the_stack_to_read_with_is_the_one_to_fit_next_where_another_tells_no_more():
    case = read_case(CASES / "track-wishbone.toml")
    answer = judged(case, [swept_car(case)])
    (with_stack,) = (x for x in answer.next_readings.ranked if x.kind == "three_with_stack")
    assert with_stack.is_next
    assert with_stack.outer_drop_mm == answer.next.outer_drop_mm
    assert with_stack.rack_raise_mm == answer.next.rack_raise_mm


@pytest.mark.parametrize("command", ["check", "suggest"])
def test_before_anything_is_read_a_sweep_is_worth_it_first(command, capsys):
    case = str(CASES / "track-wishbone.toml")
    assert main([command, case, "--what-to-read"]) in (0, 1)
    said = " ".join(capsys.readouterr().out.split())
    assert "What to read first" in said
    assert "a sweep from end to end of the used travel (15 min)" in said
    assert "Of 100 cars that the tape allows" in said
    assert main([command, case, "--what-to-read", "--json"]) in (0, 1)
    (wheel,) = json.loads(capsys.readouterr().out)["what_to_read"]
    ranking = wheel["readings"]["facts"]["ranked"]
    (worth,) = (one for one in ranking if one["worth_it"])
    by_kind = {one["kind"]: one for one in ranking}
    assert by_kind["sweep"]["loss_deg"] < 0.5 * wheel["readings"]["loss_deg"]
    assert by_kind["sweep"]["loss_deg"] < by_kind["rod_turned"]["loss_deg"]
    assert worth["kind"] == "sweep"
    assert main([command, case, "--json"]) in (0, 1)
    assert json.loads(capsys.readouterr().out)["what_to_read"] == []


def test_each_measured_wheel_is_told_what_to_read_first():
    found = readings_before(read_car(CASES / "two-sided-wishbone.toml"))
    assert [one.side for one in found] == ["left", "right"]
    for one in found:
        assert "turn_toe_out" not in {x.kind for x in one.readings.ranked}


def test_an_aligned_car_is_told_of_as_it_will_stand():
    text = file_text(CASES / "lowered-strut.toml")
    wish = '\n[alignment]\nby = "strut-top"\ncamber_deg = -2.5\n'
    (plain,), (aligned,) = (readings_before(car_from_toml(x, "x")) for x in (text, text + wish))
    assert plain.readings.loss_deg != aligned.readings.loss_deg
