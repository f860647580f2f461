"""What a third look at the program found said wrongly, each where it was seen."""

import re

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.files.case_file import read_car
from optimizer.models.questions import Slip
from optimizer.models.read_beside import BesideSlip
from optimizer.wording.next_readings import of_100
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.command_line import CASES, STRUT, run
from tests.optimizer.gauging.sweeps import judged, kind_of, readings

ANGLE = """format = 1
units = "mm"
kind = "angle"
reading_grows = "toe-in"
total = false
outer_drop = 0.0
rack_raise = 0.0
readings = [[-50, 0.2], [-25, 0.1], [0, 0.0], [25, -0.1], [50, -0.2]]
"""


def said_of(fact):
    return sentence(fact, Reader(subject_of(read_car(STRUT))))


@pytest.fixture
def gauged(tmp_path, capsys):
    """Exit code of `gauge` for a table beside a sweep, and all that it printed, in one line."""

    def told(table, *options, case=STRUT, sweep=ANGLE):
        path = tmp_path / "sweep.toml"
        path.write_text(sweep + table, encoding="utf-8")
        code = run("gauge", *([] if case is None else [case]), path, *options)
        out, err = capsys.readouterr()
        return code, " ".join((out + err).split())

    return told


@pytest.mark.parametrize(
    ("table", "case", "fault"),
    [
        (
            "[camber]\nreadings = [[340, 0.3], [380, 0.1], [420, 1]]\n",
            STRUT,
            "sweep: camber: the points of the case reach none of its heights, or hardly one",
        ),
        (
            "[camber]\nreadings = [[340, 0.3], [0, 0.1], [0, 0.2]]\n",
            STRUT,
            "sweep: camber: the points of the case reach none of its heights, or hardly one",
        ),
        (
            "[steered]\nreadings = [[-200, 15], [0, 0], [200, -15]]\n",
            STRUT,
            "sweep: steered: the points of the case reach none of its rack travels",
        ),
        (
            "[[rod_turned]]\nlonger_by = 200\nbefore = 0\nafter = 1\n",
            STRUT,
            "sweep: rod_turned[1]: the points of the case reach no ride height with the rod so",
        ),
        (
            "[caster_sweep]\nsteer_deg = 59\ncamber_out_deg = 1\ncamber_in_deg = -1\n",
            CASES / "lifted-beam-axle.toml",
            "sweep: caster_sweep: the points of the case reach no place of a wheel that is steered",
        ),
        (
            '[sideways]\nreading_grows = "outboard"\ndial = [[0, 0]]\n',
            STRUT,
            "sideways.dial must be at two different heights or more",
        ),
        (
            "[camber]\nreadings = [[0, 0.3]]\n",
            STRUT,
            "camber.readings must be at two different heights or more",
        ),
        (
            "[steered]\nrack_per_turn = 50\nreadings = [[0.5, 9], [0.501, 9.1]]\n",
            STRUT,
            "steered.readings must be at two different rack travels or more",
        ),
        (
            "[turn_toe_out]\nreadings = [[0, 0]]\n",
            STRUT,
            "turn_toe_out.readings must hold a rack travel other than 0",
        ),
    ],
)
def test_a_table_that_can_tell_nothing_is_refused_with_its_place(gauged, table, case, fault):
    code, said = gauged(table, case=case)
    assert code == 2
    assert fault in said


def test_rows_that_the_points_can_not_reach_are_named_and_left_out(gauged):
    rows = "[-40, 0.5], [0, 0.0], [40, -0.4]"
    plain = gauged(f"[camber]\nreadings = [{rows}]\n", "--verbose")
    code, said = gauged(f"[camber]\nreadings = [[340, 9], {rows}, [400, 1]]\n", "--verbose")
    assert code == plain[0]
    named = (
        '"sweep": the points of the case can\'t reach camber.readings[1], camber.readings[5], so '
        "those rows are left out; does it count heights as the sweep's rows do?"
    )
    assert named in said
    begin = "camber: camber changed over its rows by -0.900 deg; the points as measured foretell"
    told = plain[1][plain[1].index(begin) :].split(".\n")[0][:180]
    assert told in said


def test_what_a_reading_spans_is_told_with_its_sign_and_a_row_that_stands_apart_by_its_place():
    slip = BesideSlip(
        key="camber",
        kind="row",
        side="left",
        units="mm",
        row=8,
        seen_deg=-3.05,
        foretold_deg=-2.98,
        sigmas=5.1,
    )
    assert said_of(slip) == (
        "camber does not fit the points, by 5.1 standard deviations of tape and gauge over all its "
        "rows: it spans -3.050 deg where they foretell -2.980 deg; without camber.readings[8] it "
        "would: is that row mistyped? Until that is settled it is left out."
    )


@pytest.mark.parametrize(("units", "mm_per_unit"), [("mm", 1.0), ("in", 25.4)])
def test_only_the_other_unit_than_the_file_says_is_asked_about(units, mm_per_unit):
    case = read_car(CASES / "extended-strut.toml").case
    travel = np.arange(-40.0, 41.0, 10.0)
    dial_mm = 500.0 * Evaluator.of(case).toe(Settings.single(), travel)[0]
    rows = np.column_stack([travel / mm_per_unit, 0.0 * travel, dial_mm * 25.4 / mm_per_unit])
    sweep = readings("two-dial", rows.tolist(), units=units, spacing=500.0 / mm_per_unit)
    asked = kind_of(Slip, judged(case, [sweep]).questions)
    assert asked == ([] if units == "mm" else ["millimeters"])


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "fewer than 1"),
        (0.9, "fewer than 1"),
        (1.0, "1"),
        (50.4, "50"),
        (99.0, "99"),
        (99.1, "more than 99"),
        (100.0, "more than 99"),
    ],
)
def test_cars_of_a_hundred_are_never_none_nor_all_and_never_said_to_be_one(share, said):
    assert of_100(share) == said


CAR = '[car]\nrod_length = 360.0\nsteering_arm = 130.0\narms = "ahead"\ntire_diameter = 600.0\n'


def test_quiet_is_short_without_a_case_too_and_still_says_what_to_do(gauged):
    _, quiet = gauged(CAR, "--quiet", case=None)
    _, whole = gauged(CAR, case=None)
    assert len(quiet) < 0.4 * len(whole)
    for said in ("Slope -0.040 deg per 10 mm", "raise the outer pivot or lower the rack, by about"):
        assert said in quiet
        assert said in whole
    assert "Before it goes on the road" not in quiet
    _, all_there_is = gauged(CAR, "--verbose", case=None)
    assert "as read, and as toe of one wheel" in all_there_is
    assert "As read, and as toe of one wheel" not in whole
    assert whole.rstrip().endswith("More with --verbose: every row as toe.")


@pytest.mark.parametrize(
    ("case", "steered"), [(STRUT, True), (CASES / "five-link-rear.toml", False)]
)
def test_the_sheet_has_a_line_for_all_that_gauge_asks_for(capsys, case, steered):
    assert run("sheet", case, "--text") == 0
    said = " ".join(capsys.readouterr().out.split())
    for key in ("rod_turned", "sideways", "camber"):
        assert re.search(rf"\({key}\b", said)
    for key in ("steered", "turn_toe_out", "caster_sweep"):
        assert bool(re.search(rf"\b{key}\)|\({key},", said)) is steered


def test_a_sweep_out_of_reach_is_told_of_as_such_where_its_dials_tell_sideways_too(gauged):
    sweep = ANGLE.replace('kind = "angle"', 'kind = "two-dial"\nspacing = 500.0')
    sweep = sweep.replace('"toe-in"\ntotal = false', '"outboard"').split("readings = ")[0]
    rows = "readings = [[340, 0.3, 0.2], [380, 0.1, 0.0], [-9, 0.0, 0.0]]\n"
    code, said = gauged("[sideways]\nboth_dials = true\n", sweep=sweep + rows)
    assert code == 2
    assert "the points of the case reach none of the heights that were read, or hardly one" in said
