"""Slips in readings beside toe: signs, threads, gauges and wheels that were mixed up."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.models.questions import OtherStack
from optimizer.models.read_beside import BesideSlip, MovedSlip

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
    true_car,
)
from .sweeps import judged, only


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
