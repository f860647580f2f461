"""On the bench: readings as people really bring them, each a full answer; the cars are invented."""

import json
from pathlib import Path

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.cli.main import main
from optimizer.files.case_file import read_car, read_case
from optimizer.gauging.loop import gauge
from optimizer.models.questions import OtherStack
from optimizer.models.remedies import HeightError, Matters
from optimizer.wording.gauge_next import what_next
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

from .conftest import CASES
from .sweeps import angles, kind_of, only
from .typed import HEAD, rows

ANGLE = f'{HEAD}kind = "angle"\n'
INCH_CAR = CASES / "kit-car-inches.toml"
STRUT = CASES / "lowered-strut.toml"
MISSED = 1  # the shelf of both holds nothing within their tolerance


def run(*arguments: object) -> int:
    return main([str(argument) for argument in arguments])


def swept_at(case: Path, drop: float, raised: float = 0.0, *, units: str = "mm") -> str:
    """Rows of a demo car as its case says, with a stack and a rack spacer fitted. [mm]."""
    inches = units == "in"
    travel = np.arange(-2.0, 2.1, 0.5) * 25.4 if inches else np.arange(-50.0, 51.0, 10.0)
    toe = Evaluator.of(read_case(case)).toe(Settings.single(drop, raised), travel)[0]
    heights = travel / 25.4 if inches else travel
    return rows(*zip(heights, np.round(np.degrees(toe), 3), strict=True))


# --- what was fitted


def test_beside_a_case_what_was_fitted_must_be_said(as_typed, capsys):
    # 0.25 in under the rod end and 0.25 in under the rack, both keys left out of the file.
    inches = ANGLE.replace('"mm"', '"in"') + swept_at(INCH_CAR, 6.35, 6.35, units="in")
    assert run("gauge", INCH_CAR, as_typed("second", inches)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "second: outer_drop and rack_raise must be given beside a case" in err
    said = "outer_drop = 0.25\nrack_raise = 0.25\n"
    assert run("gauge", INCH_CAR, as_typed("second", said + inches)) == MISSED
    assert (
        '"second": 9 rows from -2 to +2 in, swept with drop 0.25 in, rack raised by 0.25 in fitted.'
        in capsys.readouterr().out
    )
    assert (
        run("gauge", as_typed("alone", inches)) == 0
    )  # without a case nothing is taken for granted
    assert "what was fitted is not said" in capsys.readouterr().out


def test_json_says_what_each_sweep_was_taken_with(as_typed, capsys):
    sweep = as_typed(
        "two shims", ANGLE + "outer_drop = 6.0\nrack_raise = 0.0\n" + swept_at(STRUT, 6.0)
    )
    assert run("gauge", STRUT, sweep, "--json") == MISSED
    answer = json.loads(capsys.readouterr().out)
    (fitted,) = answer["facts"]["swept"]
    assert (fitted["outer_drop_mm"], fitted["rack_raise_mm"]) == (6.0, 0.0)
    assert fitted["stack_mm"] == [5.0, 1.0]
    assert "drop 6 mm (1 x 5 + 1 x 1), rack raised by 0 mm" in answer["swept"][0]


def test_readings_that_were_given_before_are_noticed(as_typed, tmp_path, capsys):
    seat = "outer_drop = 0.0\nrack_raise = 0.0\n"
    text = ANGLE + seat + swept_at(STRUT, 0.0)
    first, again = as_typed("first", text), as_typed("again", text)
    assert run("gauge", STRUT, first, again) == 2
    assert 'again: holds the same rows as "first"' in capsys.readouterr().err
    corrected = tmp_path / "corrected.toml"
    assert run("gauge", STRUT, first, "--write", corrected) == MISSED
    capsys.readouterr()
    assert run("gauge", corrected, again) == 2
    assert "were corrected by these readings already" in capsys.readouterr().err


# --- half of what was expected


def test_a_stack_that_did_half_of_what_the_points_promised_is_asked_about_first(judged):
    seat, taller = (
        f'{ANGLE}name = "{name}"\nouter_drop = {said}\nrack_raise = 0.0\n{swept_at(STRUT, fitted)}'
        for name, said, fitted in (("Seat", 0.0, 0.0), ("Taller", 11.0, 6.0))
    )
    wheel = judged(seat, taller, case=STRUT)
    found = wheel.questions[0]
    assert isinstance(found, OtherStack)
    assert (found.sweep, found.typed_mm, found.explains_mm) == ("Taller", 11.0, 6.0)
    assert found.probability > 0.9
    assert wheel.contradictory
    assert not any(one.remeasure for one in wheel.moved)  # the tape is not blamed before the stack
    right = taller.replace("outer_drop = 11.0", "outer_drop = 6.0")
    assert kind_of(OtherStack, judged(seat, right, case=STRUT).questions) == []


def test_a_second_sweep_typed_as_the_standard_seat_is_asked_about(judged):
    seat = "outer_drop = 0.0\nrack_raise = 0.0\n"
    first = f"{ANGLE}{seat}{swept_at(STRUT, 0.0)}"
    second = f"{ANGLE}{seat}{swept_at(STRUT, 6.0, 6.0)}"
    found = only(OtherStack, judged(first, second, case=STRUT).questions)
    assert found.sweep == "sweep2"
    assert found.explains_mm == pytest.approx(12.0, abs=1.0)


@pytest.mark.parametrize(("up", "asked"), [(6.0, True), (2.0, False)])
def test_a_rack_that_was_moved_the_other_way_is_asked_about(judged, up, asked):
    """One sweep with nothing under the joint: 12 mm is more than the tape explains, 4 mm is not."""
    text = f"{ANGLE}outer_drop = 0.0\nrack_raise = {{}}\n{swept_at(STRUT, 0.0, up)}"
    as_it_was = judged(text.format(up), case=STRUT)
    assert kind_of(OtherStack, as_it_was.questions) == []
    asking = judged(text.format(-up), case=STRUT).questions
    found = [one for one in asking if isinstance(one, OtherStack)]
    assert bool(found) == asked
    for one in found:
        assert (one.of, one.typed_mm, one.explains_mm) == ("rack-sign", -up, up)
        words = sentence(one, Reader(subject_of(read_car(STRUT))))
        assert 'Is the rack raise of "sweep1" typed with the right sign? -6 mm is typed' in words


def test_one_amount_is_told_from_what_is_fitted_now(judged):
    seat = f"{ANGLE}outer_drop = 0.0\nrack_raise = 0.0\n{swept_at(STRUT, 0.0)}"
    six = f"{ANGLE}outer_drop = 6.0\nrack_raise = 0.0\n{swept_at(STRUT, 6.0)}"
    wheel = judged(seat, six, case=STRUT)
    assert only(HeightError, wheel.diagnosis).by_mm is None
    following = wheel.next
    assert following.outer_drop_change_mm == following.outer_drop_mm - 6.0
    assert following.rack_raise_change_mm == following.rack_raise_mm
    # Without points it is the diagnosis that tells it, by what the six millimeters did.
    found = only(HeightError, judged(seat, six).diagnosis)
    assert found.kind == "tried"
    flat = Evaluator.of(read_case(STRUT)).curve(Settings.single(6.0 + found.by_mm)).slope[0]
    assert np.degrees(flat) * 10.0 == pytest.approx(0.0, abs=0.005)


# --- does it matter


def matters(slope_deg_per_10mm: float, **car: object) -> tuple[Matters, str]:
    """Whether a straight curve matters, as a fact and in words."""
    rows = {float(t): slope_deg_per_10mm * t / 10.0 for t in range(-50, 51, 10)}
    answer = gauge(None, [angles(rows, car={"tire_diameter": 600.0, **car})])
    found = only(Matters, answer.wheels[0].diagnosis)
    return found, sentence(found, Reader(answer.subject))


def test_toe_in_in_bump_is_not_what_production_cars_have():
    # 0.75 deg each way: 0.157 mm per mm on a 600 mm tire is more than any band.
    found, words = matters(+0.15)
    assert (found.kind, found.way) == ("darts", "in")
    assert "the worse way on the road" in words
    (toe_out, mild), (toe_in, worse) = matters(-0.08), matters(+0.08)
    assert (toe_out.kind, toe_out.way) == ("production", "out")
    assert (toe_in.kind, toe_in.way) == ("toe-in", "in")
    assert "what production cars have" in mild
    assert "no production car's" in worse
    assert all("common practice, no source" in text for text in (mild, worse))


def test_on_a_rear_axle_it_is_toe_out_in_bump_that_is_worse():
    (toe_out, worse), (toe_in, mild) = (matters(s, axle="rear") for s in (-0.08, +0.08))
    assert (toe_out.kind, toe_out.way, toe_in.kind, toe_in.way) == ("rear", "out", "rear", "in")
    assert "the worse way at the rear" in worse
    assert "the milder way at the rear" in mild


def test_the_best_of_a_shelf_that_misses_the_tolerance_says_so(judged, tmp_path):
    tight = tmp_path / "tight.toml"
    tight.write_text(
        STRUT.read_text(encoding="utf-8").replace("tolerance_deg = 0.05", "tolerance_deg = 0.02"),
        encoding="utf-8",
    )
    wheel = judged(ANGLE + swept_at(STRUT, 0.0), case=tight)
    first = wheel.next
    fitted = f"outer_drop = {first.outer_drop_mm}\nrack_raise = {first.rack_raise_mm}\n"
    at_best = swept_at(STRUT, first.outer_drop_mm, first.rack_raise_mm)
    answer = judged(ANGLE + fitted + at_best, case=tight)
    assert answer.next.stop
    assert answer.next.tolerance_deg == 0.02
    assert answer.next.misses_by_deg == pytest.approx(answer.next.best_of_hardware_deg - 0.02)
    words = what_next(answer, Reader(subject_of(read_car(tight))))[0]
    assert words.startswith(
        "Stop: nothing on this shelf does better by what a gauge shows, but it misses"
    )


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        ("tolerance_deg = 0.05", MISSED),
        ("tolerance_deg = 0.2", 0),
        ("band = [[-60.0, -0.3, 0.3], [50.0, -0.3, 0.3]]", 0),
        ("band = [[-60.0, -0.01, 0.01], [50.0, -0.01, 0.01]]", MISSED),
    ],
)
def test_the_program_ends_as_suggest_does_where_nothing_meets_what_is_wanted(
    as_typed, tmp_path, capsys, wanted, code
):
    car, sweep = tmp_path / "car.toml", CASES / "readings" / "lowered-strut.toml"
    text = STRUT.read_text(encoding="utf-8").replace("tolerance_deg = 0.05", wanted)
    car.write_text(text, encoding="utf-8")
    assert run("gauge", car, sweep, "--json") == code
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    found = wheel["next"]
    if "band" in wanted:
        assert found["misses_by_deg"] is None
        assert found["within_band"] == (code == 0)
    else:
        assert (found["misses_by_deg"] is None) == (code == 0)
    assert run("gauge", sweep) == 0  # without a case nothing is proved


# --- cautions


USUAL = ["taper", "reset-toe", "no-heating", "judgement"]
UNJUDGED = ["no-tilt-limit", "no-obstacles"]


def told_once(text: str, kinds: list[str]) -> bool:
    """Whether each caution stands in a report once: by a word of its own."""
    words = {
        "no-heating": "Heating, bending",
        "single-shear": "single shear",
        "reset-toe": "re-torque",
    }
    return all(" ".join(text.split()).count(words[kind]) == 1 for kind in kinds if kind in words)


def test_readings_without_a_case_warn_those_who_bend_arms(as_typed, capsys):
    sweep = as_typed("left", ANGLE + rows(*((t, -0.01 * t) for t in range(-50, 51, 10))))
    assert run("gauge", sweep, "--json") == 0
    kinds = [one["kind"] for one in json.loads(capsys.readouterr().out)["facts"]["cautions"]]
    assert kinds == ["single-shear", *UNJUDGED, "inner-raised", *USUAL]
    assert run("gauge", sweep) == 0
    assert told_once(capsys.readouterr().out, kinds)
    still = as_typed("still", ANGLE + rows(*((t, 0.0) for t in range(-50, 51, 10))))
    assert run("gauge", still) == 0
    assert "Before it goes on the road" not in capsys.readouterr().out  # nothing is to be changed


@pytest.mark.parametrize(
    ("fitted", "kinds"),
    [
        (["--rack-raise", "6"], ["inner-raised", *USUAL[1:]]),  # no taper is touched
        (["--outer-drop", "6"], ["single-shear", *USUAL]),
        (["--outer-drop", "0"], ["judgement"]),
    ],
)
def test_a_sheet_warns_of_what_is_to_be_fitted(capsys, fitted, kinds):
    assert run("sheet", STRUT, *fitted, "--json") == 0
    cautions = json.loads(capsys.readouterr().out)["facts"]["cautions"]
    assert [one["kind"] for one in cautions] == kinds
    assert run("sheet", STRUT, *fitted, "--text") == 0
    assert told_once(capsys.readouterr().out, kinds)


def test_kits_that_reach_a_height_are_told_with_their_cautions(capsys):
    command = ["reach", CASES / "track-wishbone.toml", "--kits", CASES / "kits.toml"]
    assert run(*command, "--json") == 0
    cautions = json.loads(capsys.readouterr().out)["facts"]["cautions"]
    kinds = [one["kind"] for one in cautions]
    assert kinds.count("taper-drilled") >= 1
    assert kinds[-3:] == USUAL[1:]
    assert "single-shear" in kinds
    assert run(*command) == 0
    assert told_once(capsys.readouterr().out, kinds)
