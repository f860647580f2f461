"""Readings beside toe in files and reports: what is refused, and what is told."""

import json

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.cli.main import main
from optimizer.files.case_file import read_case

from .conftest import CASES
from .read_beside import (
    STRUT,
    TRAVEL,
    dial_at_hub,
    toe_of,
)
from .sweeps import readings

ANGLE = 'format = 1\nunits = "mm"\nkind = "angle"\nreading_grows = "toe-in"\ntotal = false\n'
ROWS = "readings = [[-50, 0.2], [-25, 0.1], [0, 0.0], [25, -0.1], [50, -0.2]]\n"


@pytest.mark.parametrize(
    ("table", "fault"),
    [
        ("[[rod_turned]]\nturns = 2\npitch = 1.5\n", "rod_turned[1].before must be given"),
        ("[[rod_turned]]\nbefore = 0\nafter = 1\n", "rod_turned[1].turns must be given, and not 0"),
        (
            "[[rod_turned]]\nturns = 2\nbefore = 0\nafter = 1\n",
            "rod_turned[1].pitch must be given, or threads_per_inch",
        ),
        (
            "[[rod_turned]]\nlonger_by = 3\nturns = 2\nbefore = 0\nafter = 1\n",
            "rod_turned[1].turns must be left out where longer_by is given",
        ),
        (
            "[[rod_turned]]\nlonger_by = 3\nbefore = [0, 1]\nafter = 1\n",
            "rod_turned[1].before must be [toe], got 2 numbers",
        ),
        ("[[rod_turned]]\nlonger_by = 3\nbefore = 0\n", "rod_turned[1].after must be given too"),
        (
            "[rod_turned]\nlonger_by = 3\nbefore = 0\nafter = 1\n",
            "rod_turned must be a list [...], got a table (its header stands in double brackets, "
            "as often as need be: [[rod_turned]])",
        ),
        (
            "[[camber]]\nreadings = [[0, 1], [9, 2]]\n",
            "camber must be a table, got [a table] (its header stands once, in single brackets)",
        ),
        ("[camber]\nreadings = [[0, 1, 2]]\n", "camber.readings[1] must be two numbers, got 3"),
        ("[steered]\nnoise_deg = 0.1\n", "steered.readings must be given"),
        (
            "[sideways]\nnoise = 0.1\n",
            "sideways.dial must be given, or both_dials = true with two dials",
        ),
        (
            "[sideways]\ndial = [[0, 1], [9, 2]]\n",
            "sideways.reading_grows must be given too",
        ),
        (
            "[sideways]\nboth_dials = true\n",
            'sideways.both_dials must be left out unless kind is "two-dial"',
        ),
        (
            '[sideways]\nboth_dials = true\nreading_grows = "inboard"\n',
            "sideways.reading_grows must be left out where both_dials is true",
        ),
        (
            "[turn_toe_out]\nreadings = [[9, 1, 2]]\n",
            "turn_toe_out.readings[1] must be two numbers",
        ),
        (
            "[caster_sweep]\nsteer_deg = 1\ncamber_out_deg = 0\ncamber_in_deg = 0\n",
            "caster_sweep.steer_deg must be between 5 and 60 deg, got 1 deg",
        ),
    ],
)
def test_a_table_that_can_t_be_used_is_refused_with_its_place(refused, table, fault):
    assert fault in refused(ANGLE + ROWS + table, case=STRUT)


def test_a_rear_wheel_is_not_steered(refused):
    table = "[steered]\nreadings = [[-10, 3], [10, -3]]\n"
    said = refused(ANGLE + ROWS + table, case=CASES / "five-link-rear.toml")
    assert "steered must be left out: a rear wheel is not steered" in said


def test_toe_out_on_turns_is_left_to_steer_angles_where_both_wheels_are_measured(refused):
    table = 'side = "left"\n[turn_toe_out]\nreadings = [[10, 1]]\n'
    said = refused(ANGLE + ROWS + table, case=CASES / "two-sided-wishbone.toml")
    assert "turn_toe_out must be left out: the case measures both wheels" in said


def test_the_report_tells_a_sideways_movement_in_the_unit_of_the_file(tmp_path, capsys):
    case = CASES / "kit-car-inches.toml"
    tape = Evaluator.of(read_case(case))
    toe = np.degrees(tape.toe(Settings.single(), TRAVEL)[0])
    dial = dial_at_hub(tape, TRAVEL) - dial_at_hub(tape, np.zeros(1))
    rows, dials = (
        ", ".join(f"[{t / 25.4:.6f}, {x:.6f}]" for t, x in zip(TRAVEL, read, strict=True))
        for read in (toe, dial / 25.4)
    )
    path = tmp_path / "visit.toml"
    path.write_text(
        f"{ANGLE.replace('mm', 'in')}outer_drop = 0\nrack_raise = 0\nreadings = [{rows}]\n"
        f'[sideways]\ndial = [{dials}]\nreading_grows = "outboard"\n',
        encoding="utf-8",
    )
    assert main(["gauge", str(case), str(path), "--verbose"]) in (0, 1)
    said = " ".join(capsys.readouterr().out.split())
    spans = f"{(dial[-1] - dial[0]) / 25.4:+.4f} in"
    assert f"sideways: over its rows the wheel moved outboard by {spans}" in said


def test_what_is_taken_for_the_noise_of_a_dial_is_as_long_in_inches():
    dial = {"dial": [[-2.0, 0.1], [2.0, 0.3]], "reading_grows": "outboard"}
    for units in ("mm", "in"):
        read = readings("angle", [[-2.0, 0.1], [2.0, 0.3]], units=units, sideways=dial)
        assert read.sideways.noise == 0.2


def test_the_report_and_the_json_tell_what_was_read(tmp_path, capsys):
    path = tmp_path / "visit.toml"
    tape = Evaluator.of(read_case(STRUT))
    toe = np.degrees(tape.toe(Settings.single(), TRAVEL)[0])
    rows = ", ".join(f"[{t}, {x:.4f}]" for t, x in zip(TRAVEL, toe, strict=True))
    path.write_text(
        f"{ANGLE}outer_drop = 0\nrack_raise = 0\nreadings = [{rows}]\n"
        f"[[rod_turned]]\nturns = 2\npitch = 1.5\nbefore = 0.05\n"
        f"after = {0.05 + toe_of(tape, 3.0) - toe_of(tape):.4f}\n",
        encoding="utf-8",
    )
    assert main(["gauge", str(STRUT), str(path), "--verbose"]) in (0, 1)
    assert "rod_turned[1], tie rod 3.0 mm longer: toe changed by" in " ".join(
        capsys.readouterr().out.split()
    )
    assert main(["gauge", str(STRUT), str(path), "--json"]) in (0, 1)
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    (fact,) = wheel["facts"]["read_beside"]
    assert fact["longer_mm"] == 3.0
    assert fact["seen_deg"] == pytest.approx(fact["foretold_deg"], abs=1e-3)
