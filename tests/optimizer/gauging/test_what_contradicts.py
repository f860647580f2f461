"""Verdicts on an invented car that was measured by tape, and slips in what was typed of it.

Its points lie up to 5 mm from where the starter of its layout has them; its dials were read to
0.03 mm.
"""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.cli.main import main
from optimizer.files.case_file import read_car, read_case
from optimizer.files.starters import starter_case
from optimizer.models.questions import NotBuilt, OtherStack, Slip
from optimizer.models.read_beside import MovedSlip
from optimizer.models.remedies import CurveShape, Matters
from optimizer.wording.gauge_next import what_next
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

from .sweeps import only
from .typed import ANGLE, TWO_DIALS, rows

SWEEP = (
    *((-45.0, -6.15, -10.2), (-40.0, -5.31, -8.79), (-30.0, -3.66, -6.27), (-20.0, -2.27, -3.93)),
    *((-10.0, -1.06, -1.86), (0.0, 0.0, 0.0), (10.0, 0.82, 1.59), (20.0, 1.44, 2.98)),
    *((30.0, 1.9, 4.01), (40.0, 2.21, 5.0), (45.0, 2.22, 5.4)),
)
WITH_SEVEN = (
    *((-45.0, -7.79, -8.21), (-40.0, -6.69, -7.1), (-30.0, -4.7, -4.99), (-20.0, -2.91, -3.1)),
    *((-10.0, -1.38, -1.46), (0.0, 0.0, 0.0), (10.0, 1.12, 1.22), (20.0, 2.13, 2.25)),
    *((30.0, 2.88, 2.98), (40.0, 3.45, 3.52), (45.0, 3.58, 3.74)),
)
MILD = (  # of another such car, of whose curve the tape alone could hardly tell the sign
    *((-45.0, -6.11, -8.66), (-40.0, -5.26, -7.46), (-30.0, -3.63, -5.27), (-20.0, -2.15, -3.27)),
    *((-10.0, -1.01, -1.5), (0.0, 0.0, 0.0), (10.0, 0.84, 1.29), (20.0, 1.44, 2.33)),
    *((30.0, 1.84, 3.2), (40.0, 2.06, 3.79), (45.0, 2.1, 4.06)),
)
FIRST = TWO_DIALS + rows(*SWEEP)
AT_SEVEN = rows((-45.0, -7.83, -8.28), (0.0, 0.0, 0.0), (45.0, 3.68, 3.75))
SECOND = TWO_DIALS + "outer_drop = 7.0\nrack_raise = 0.0\n" + AT_SEVEN


@pytest.fixture
def case(tmp_path):
    """The starter of a double wishbone, as tape measured it, with lines of its own under [aim]."""

    def written(aim=""):
        path = tmp_path / "car.toml"
        path.write_text(f"{starter_case('double-wishbone')}\n[aim]\n{aim}", encoding="utf-8")
        return path

    return written


def told(capsys, *arguments):
    main(["gauge", *map(str, arguments)])
    return " ".join(capsys.readouterr().out.split())


def test_a_stack_that_meets_the_tolerance_is_fitted_before_one_that_misses_it(judged, case):
    wheel = judged(FIRST, SECOND, case=case())
    assert wheel.next.best_of_hardware_deg < wheel.next.tolerance_deg
    assert wheel.next.fitted_now_peak_deg > wheel.next.tolerance_deg
    assert wheel.next.fitted_now_peak_deg < wheel.next.best_of_hardware_deg + 0.01
    assert not wheel.next.stop
    assert wheel.next.outer_drop_mm == 8.0
    assert wheel.next.peak_toe_change_deg <= wheel.next.tolerance_deg


def test_where_nothing_meets_it_what_no_gauge_could_better_is_kept(judged, case):
    wheel = judged(FIRST, SECOND, case=case("tolerance_deg = 0.045"))
    assert wheel.next.stop
    assert wheel.next.misses_by_deg > 0.0
    assert wheel.next.outer_drop_mm == 7.0
    # What it is enough in is counted for the stack that is kept, not for the best one.
    kept = judged(FIRST, SECOND, case=case()).next_readings
    assert wheel.next_readings.enough_of_100 < kept.enough_of_100 - 10.0
    assert kept.nearer is None
    nearer = wheel.next_readings.nearer
    assert nearer.outer_drop_mm == 8.0
    assert nearer.enough_of_100 > wheel.next_readings.enough_of_100 + 10.0
    assert 0.0 < nearer.gain_deg < 0.01


def test_where_the_sides_differ_the_verdict_names_its_wheel_and_how_to_ask_for_the_other(
    case, capsys, tmp_path
):
    paths = []
    for side, table in (("left", SWEEP), ("right", MILD)):
        paths.append(tmp_path / f"{side}.toml")
        text = f'side = "{side}"\nouter_drop = 0.0\nrack_raise = 0.0\n'
        paths[-1].write_text(TWO_DIALS + text + rows(*table), encoding="utf-8")
    said = told(capsys, case(), *paths)
    assert "Left: Fit outer drop" in said
    assert "The sides differ" in said
    assert "What the right wheel takes, `gauge` tells from its readings alone." in said
    assert "Left:" not in told(capsys, case(), paths[0])


def test_what_contradicts_the_points_is_a_guess_in_all_that_is_said(case, capsys, tmp_path):
    path, written = tmp_path / "sweep.toml", tmp_path / "corrected.toml"
    text = TWO_DIALS + "outer_drop = 0.0\nrack_raise = 0.0\n" + rows(*SWEEP)
    path.write_text(text.replace("outboard", "inboard"), encoding="utf-8")
    main(["gauge", str(case()), str(path), "--write", str(written)])
    out, err = (" ".join(one.split()) for one in capsys.readouterr())
    assert "take what follows for a guess" in out
    for settled in ("Stop", "Enough in", "--write FILE"):
        assert settled not in out
    assert "are a guess" in err
    for command in (["check"], ["suggest"], ["suggest", "--verbose"]):
        main([command[0], str(written), *command[1:]])
        said = " ".join(capsys.readouterr().out.split())
        assert "accuracy.contradicted" in said
        assert "contradict each other: settle which is wrong before anything is built" in said
    right = tmp_path / "right.toml"
    path.write_text(text, encoding="utf-8")
    main(["gauge", str(case()), str(path), "--write", str(right)])
    assert "contradicted" not in right.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("typed", "of", "explains"), [(-7.0, "stack-sign", 7.0), (70.0, "stack", 7.0)]
)
def test_a_stack_that_no_hardware_builds_is_the_first_to_be_doubted(
    judged, case, typed, of, explains
):
    sweep = f"{TWO_DIALS}outer_drop = {typed}\nrack_raise = 0.0\n{rows(*WITH_SEVEN)}"
    doubted = only(OtherStack, judged(sweep, case=case()).questions)
    assert doubted.of == of
    assert doubted.explains_mm == pytest.approx(explains, abs=1.0)
    right = sweep.replace(f"outer_drop = {typed}", "outer_drop = 7.0")
    assert not [one for one in judged(right, case=case()).questions if isinstance(one, OtherStack)]


@pytest.mark.parametrize(("factor", "kind"), [(0.5, "doubled"), (2.0, "halved")])
def test_a_sweep_read_by_half_or_twice_blames_no_stack_of_the_one_beside_it(
    judged, case, factor, kind
):
    at_seat = 'name = "Seat"\n' + TWO_DIALS + "outer_drop = 0.0\nrack_raise = 0.0\n"
    first = at_seat + rows(*((t, factor * front, factor * rear) for t, front, rear in SWEEP))
    wheel = judged(first, SECOND, case=case())
    slip = only(Slip, wheel.questions)
    assert (slip.sweep, slip.kind) == ("Seat", kind)
    assert not [one for one in wheel.questions if isinstance(one, OtherStack)]
    assert wheel.contradictory
    if slip.beside_others:
        said = sentence(slip, Reader(subject_of(read_car(case()))))
        assert said.startswith('As typed, "Seat" does not fit what was swept beside it and the ')


def test_rows_changed_over_make_a_guess_and_are_told_of_their_sweep(case, capsys, as_typed):
    over = [(t, *SWEEP[{7: 8, 8: 7}.get(k, k)][1:]) for k, (t, *_) in enumerate(SWEEP)]
    first = TWO_DIALS + "outer_drop = 0.0\nrack_raise = 0.0\n" + rows(*over)
    said = told(capsys, case(), as_typed("first", first), as_typed("second", SECOND))
    assert "Readings look mistyped: take what follows for a guess" in said
    assert '"first": readings[8], readings[9] would lie on a smooth curve' in said
    assert "Stop" not in said


def test_a_reading_beside_toe_that_is_in_doubt_moves_no_point_and_blames_no_stack(judged, case):
    beside = FIRST + "\n[sideways]\nboth_dials = true\n"
    alone, wheel = judged(FIRST, case=case()), judged(beside, case=case())
    assert only(MovedSlip, wheel.questions).kind == "odd"
    assert not [one for one in wheel.questions if isinstance(one, OtherStack)]
    assert wheel.fitted_points == alone.fitted_points
    heights = (-45.0, -20.0, 0.0, 20.0, 45.0)
    camber = "\n[camber]\nreadings = " + str([[x, round(-0.030 * x, 2)] for x in heights]) + "\n"
    lost = judged(FIRST + camber.replace("-0.0", "0.0"), case=case())
    assert lost.next.outer_drop_mm == alone.next.outer_drop_mm


def test_a_sweep_that_is_much_likelier_turned_round_is_asked_about(judged, case):
    right = TWO_DIALS + rows(*MILD)
    assert not [one for one in judged(right, case=case()).questions if isinstance(one, Slip)]
    turned = judged(right.replace("outboard", "inboard"), case=case())
    assert only(Slip, turned.questions).kind == "turned"


@pytest.mark.parametrize(("front", "rear", "column"), [(-1.0, 1.0, "front"), (1.0, -1.0, "rear")])
def test_a_dial_whose_sign_is_wrong_in_every_row_is_named(judged, case, front, rear, column):
    typed = rows(*((travel, front * one, rear * two) for travel, one, two in SWEEP))
    wheel = judged(TWO_DIALS + typed, case=case())
    slip = only(Slip, wheel.questions)
    assert (slip.kind, slip.column) == ("column-turned", column)
    stuck, reader = wheel.model_copy(update={"next": None}), Reader(subject_of(read_car(case())))
    assert "--write FILE" not in " ".join(what_next(stuck, reader))


def test_with_a_wanted_gain_the_way_that_is_felt_is_that_of_the_wheel_itself(judged, case):
    flat = judged(FIRST, case=case())
    wheel = judged(FIRST, case=case("toe_gain_deg_per_10mm = 0.3"))
    shape, matters = only(CurveShape, wheel.diagnosis), only(Matters, wheel.diagnosis)
    assert (shape.way, shape.beyond_wanted) == ("out", True)
    assert matters.way == only(Matters, flat.diagnosis).way == "in"
    assert matters.slope_in_per_in == only(Matters, flat.diagnosis).slope_in_per_in


@pytest.mark.parametrize(("typed", "heights"), [(120.0, (0.0, 12.0)), (-9.0, (0.0, 12.0))])
def test_a_stack_beyond_the_hardware_is_asked_about_by_itself(judged, case, typed, heights):
    sweep = f"{TWO_DIALS}outer_drop = {typed}\nrack_raise = 0.0\n{rows(*SWEEP)}"
    found = only(NotBuilt, judged(sweep, case=case()).questions)
    assert (found.of, found.typed_mm) == ("stack", typed)
    assert (found.least_mm, found.most_mm) == heights
    raised = FIRST.replace("spacing", "outer_drop = 0.0\nrack_raise = 9.0\nspacing")
    assert only(NotBuilt, judged(raised, case=case()).questions).of == "rack"


def test_none_is_named_where_the_hardware_builds_none_of_what_is_nearest(judged, case):
    """Nothing was fitted; the best guess is some millimeters off it, and may be below 0."""
    sweep = f"{TWO_DIALS}outer_drop = 120.0\nrack_raise = 0.0\n{rows(*SWEEP)}"
    found = only(OtherStack, judged(sweep, case=case()).questions)
    assert found.of == "stack"
    assert found.explains_mm == pytest.approx(0.0, abs=2.0 * found.give_or_take_mm)
    assert found.explains_mm >= 0.0


def test_a_slip_names_its_sweep_and_every_slip_that_could_as_well_be_it(judged, case):
    # On a curve that is nearly straight, dials turned round look like bump and droop exchanged.
    straight = [(travel, 0.0, round(0.07 * travel, 2)) for travel in range(-45, 46, 15)]
    turned = TWO_DIALS.replace("outboard", "inboard") + 'name = "Monday"\n' + rows(*straight)
    slip = only(Slip, judged(turned, case=case()).questions)
    assert slip.sweep == "Monday"
    assert {slip.kind, *slip.or_kinds} >= {"turned", "exchanged"}
    said = sentence(slip, Reader(subject_of(read_car(case()))))
    assert said.startswith('As typed, "Monday" does not fit the points')
    for could in ("turned round they would", "with bump and droop exchanged they would", "; or "):
        assert could in said


def test_the_other_wheel_s_slip_is_asked_about_and_is_no_guess_about_this_one(answered, case):
    right = TWO_DIALS.replace("outboard", "inboard") + 'side = "right"\nname = "Right"\n'
    found = answered(FIRST + 'side = "left"\n', right + rows(*SWEEP), case=case()).wheels[0]
    assert only(Slip, found.questions).sweep == "Right"
    assert not found.contradictory


@pytest.mark.parametrize("drop", [0.0, 4.0, 8.0])
def test_two_sides_differ_by_the_same_whatever_is_fitted(answered, case, drop):
    """This wheel is as SWEEP; the other is one that has 4 mm less to cure, at several stacks."""
    evaluator = Evaluator.of(read_case(case()))
    travel = np.array([row[0] for row in SWEEP])
    toe, none, less = (
        np.degrees(evaluator.toe(Settings.single(height), travel)[0])
        for height in (drop - 4.0, 0.0, -4.0)
    )
    seen, here = (list(zip(travel, one.round(4), strict=True)) for one in (toe, none))
    right = f'{ANGLE}side = "right"\nouter_drop = {drop}\nrack_raise = 0.0\n{rows(*seen)}'
    left = f'{ANGLE}side = "left"\nouter_drop = 0.0\nrack_raise = 0.0\n{rows(*here)}'
    wheel = answered(left, right, case=case()).wheels[0]
    differ = next(one for one in wheel.diagnosis if getattr(one, "kind", "") == "differ")
    apart = (none - less) - (none - less)[travel == 0.0]
    assert differ.by_deg == pytest.approx(np.abs(apart).max(), rel=0.1)
    assert differ.way == ("in" if apart[np.abs(apart).argmax()] > 0.0 else "out")
    assert differ.stacks_mm == (None if drop == 0.0 else drop)


def test_a_dial_that_was_never_read_is_asked_about(judged, case):
    rows_of_one = rows(*((t, 0.01 * t, 0.0) for t in range(-45, 46, 15)))
    questions = judged(TWO_DIALS + rows_of_one, case=case()).questions
    (asked,) = (one for one in questions if getattr(one, "kind", "") == "column-alike")
    assert asked.column == "rear"
    asked_of = [getattr(one, "kind", "") for one in judged(FIRST, case=case()).questions]
    assert "column-alike" not in asked_of


def test_a_sheet_with_the_same_number_in_every_row_is_asked_about(judged, case):
    blank = TWO_DIALS + rows(*((travel, 0.0, 0.0) for travel in range(-45, 46, 15)))
    assert "all-alike" in [getattr(one, "kind", "") for one in judged(blank, case=case()).questions]
    assert "all-alike" not in [getattr(x, "kind", "") for x in judged(FIRST, case=case()).questions]
