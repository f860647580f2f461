"""Slips in readings beside toe: signs, threads, gauges and wheels that were mixed up."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.subject import subject_of
from optimizer.files.case_file import read_case
from optimizer.models.questions import OtherStack
from optimizer.models.read_beside import BesideSlip, MovedSlip, Unreached
from optimizer.models.vehicle import Vehicle
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

from .conftest import CASES
from .read_beside import (
    STRUT,
    TRAVEL,
    beside,
    camber_of,
    dial_at_hub,
    out_on_turns,
    sweep_of,
    toe_of,
)
from .sweeps import judged, only, true_car


def slip_of(table, *, seed=3):
    tape = Evaluator.of(read_case(STRUT))
    return only(BesideSlip, judged(tape.case, [sweep_of(true_car(tape, seed), **table)]).questions)


def test_turns_counted_the_wrong_way_are_asked_about():
    tape = Evaluator.of(read_case(STRUT))
    (read,) = beside(true_car(tape, 3))["rod_turned"]
    assert slip_of({"rod_turned": [read | {"turns": -2.0}]}).kind == "other-way"


def test_a_coarse_thread_typed_for_a_fine_one_is_named():
    tape = Evaluator.of(read_case(STRUT))
    (read,) = beside(true_car(tape, 3), pitch=1.5)["rod_turned"]
    slip = slip_of({"rod_turned": [read | {"pitch": 2.0}]})
    assert slip.kind == "pitch"
    assert slip.pitch_mm == pytest.approx(1.5, rel=0.06)
    assert slip.typed_pitch_mm == 2.0


@pytest.mark.parametrize(("both", "kind"), [(True, "halved"), (False, "doubled")])
def test_a_sleeve_taken_for_one_end_is_asked_about(both, kind):
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape, 3)
    turned_by = 1.5 if both else 3.0
    read = {"longer_by": 2.0 * turned_by if both else 0.5 * turned_by}
    read |= {"before": toe_of(true), "after": toe_of(true, turned_by)}
    assert slip_of({"rod_turned": [read]}).kind == kind


def test_camber_with_the_sign_of_another_gauge_is_asked_about():
    tape = Evaluator.of(read_case(STRUT))
    travel = np.array([-60.0, 0.0, 50.0])
    rows = np.column_stack([travel, -camber_of(true_car(tape, 3), travel)]).tolist()
    slip = slip_of({"camber": {"readings": rows, "noise_deg": 0.02}})
    assert slip.kind == "sign"


@pytest.mark.parametrize(
    ("factors", "kind"), [((1.0, 60.0), "by-60"), ((-1.0, 1.0), "exchanged"), ((1.0, 1.0), None)]
)
def test_camber_in_minutes_or_with_bump_and_droop_exchanged_is_asked_about(factors, kind):
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape, 3)
    rows = np.column_stack([TRAVEL, camber_of(true, TRAVEL) + 1.2]) * factors
    table = {"readings": rows.tolist(), "noise_deg": 0.02}
    told = judged(tape.case, [sweep_of(true, camber=table)])
    assert [one.kind for one in told.questions if isinstance(one, BesideSlip)] == [kind] * bool(
        kind
    )


@pytest.mark.parametrize(
    ("factors", "kind"), [((1.0, 1.0 / 25.4), "inches"), ((-1.0, 1.0), "exchanged")]
)
def test_a_dial_read_in_inches_or_with_bump_and_droop_exchanged_is_asked_about(factors, kind):
    tape = Evaluator.of(read_case(CASES / "track-wishbone.toml"))
    true = true_car(tape, 3)
    rows = np.column_stack([TRAVEL, dial_at_hub(true, TRAVEL)]) * factors
    sweep = {"sideways": {"dial": rows.tolist(), "reading_grows": "outboard"}}
    assert only(MovedSlip, judged(tape.case, [sweep_of(true, **sweep)]).questions).kind == kind


def test_a_dial_that_grows_inboard_typed_outboard_is_asked_about():
    tape = Evaluator.of(read_case(STRUT))
    rows = np.column_stack([TRAVEL, dial_at_hub(true_car(tape, 3), TRAVEL)]).tolist()
    sweep = {"sideways": {"dial": rows, "reading_grows": "inboard"}}
    told = judged(tape.case, [sweep_of(true_car(tape, 3), **sweep)])
    slip = only(MovedSlip, told.questions)
    assert slip.kind == "sign"
    assert slip.seen_mm * slip.foretold_mm < 0.0
    assert told.contradictory
    # No stack is blamed for what that slip explains.
    assert not [one for one in told.questions if isinstance(one, OtherStack)]


def test_toe_out_on_turns_typed_outer_less_inner_is_asked_about():
    tape = Evaluator.of(read_case(CASES / "extended-strut.toml"))
    true = true_car(tape, 3)
    table = {"readings": [[x, -out_on_turns(true, x)] for x in (30.0, 50.0)], "noise_deg": 0.1}
    slip = only(BesideSlip, judged(tape.case, [sweep_of(true, turn_toe_out=table)]).questions)
    assert slip.kind == "sign"


def test_steer_angles_of_the_other_wheel_are_asked_about():
    tape = Evaluator.of(read_case(CASES / "extended-strut.toml"))
    true = true_car(tape, 3)
    racks = np.array([-50.0, -25.0, 25.0, 50.0])
    other = np.array([toe_of(true, rack=-rack) for rack in racks])
    table = {"readings": np.column_stack([racks, other]).tolist(), "noise_deg": 0.1}
    slip = only(BesideSlip, judged(tape.case, [sweep_of(true, steered=table)]).questions)
    assert slip.kind == "other-wheel"


def test_a_span_that_is_asked_about_keeps_its_sign():
    tape = Evaluator.of(read_case(STRUT))
    (read,) = beside(true_car(tape, 3))["rod_turned"]
    exchanged = read | {"before": read["after"], "after": read["before"]}
    slip = slip_of({"rod_turned": [exchanged]})
    assert slip.seen_deg * slip.foretold_deg < 0.0
    assert slip.seen_deg == pytest.approx(read["before"] - read["after"])
    said = sentence(slip, Reader(subject_of(Vehicle((tape.case,)))))
    assert "Or were before and after exchanged, or the places of the gauge?" in said


@pytest.mark.parametrize("wheel", ["left", "right"])
def test_steer_angles_that_are_asked_about_are_told_as_typed(wheel):
    tape = Evaluator.of(read_case(CASES / "extended-strut.toml"))
    true, way = true_car(tape, 3), 1.0 if wheel == "left" else -1.0
    racks = np.array([-50.0, -25.0, 25.0, 50.0])
    angles = np.array([way * toe_of(true, rack=way * rack) for rack in racks])
    table = {"readings": np.column_stack([racks, angles]).tolist(), "noise_deg": 0.1}
    sweep = sweep_of(true, steered=table, side=wheel)
    slip = only(BesideSlip, judged(tape.case, [sweep]).questions)
    assert slip.seen_deg == pytest.approx(angles[-1] - angles[0])
    assert slip.foretold_deg * slip.seen_deg < 0.0


@pytest.mark.parametrize("unreached", [0, 1])
def test_a_row_of_camber_that_was_mistyped_is_named(unreached):
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape, 3)
    camber = camber_of(true, TRAVEL)
    camber[7] = -camber[7] + 0.6
    rows = [[400.0, 0.0]] * unreached + np.column_stack([TRAVEL, camber]).tolist()
    told = judged(tape.case, [sweep_of(true, camber={"readings": rows})])
    slip = only(BesideSlip, told.questions)
    assert (slip.kind, slip.row) == ("row", 8 + unreached)
    # The span agrees: it is the one row that doesn't.
    (read,) = told.read_beside
    assert abs(read.seen_deg - read.foretold_deg) < 3.0 * read.give_or_take_deg
    assert [one.rows for one in told.questions if isinstance(one, Unreached)] == [(1,)] * unreached


def test_a_row_of_a_dial_that_was_mistyped_is_named():
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape, 3)
    moved = dial_at_hub(true, TRAVEL)
    moved[2] += 5.0
    rows = np.column_stack([TRAVEL, moved]).tolist()
    sweep = sweep_of(true, sideways={"dial": rows, "reading_grows": "outboard"})
    slip = only(MovedSlip, judged(tape.case, [sweep]).questions)
    assert (slip.kind, slip.row) == ("row", 3)
