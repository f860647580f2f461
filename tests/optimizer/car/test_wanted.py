"""The wanted toe curve: a gain or a band, what is aimed at, and curves held against a band."""

import copy
import json
import tomllib
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from geometry.toe_curve import toe_change
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.car.wanted import (
    band_verdict,
    beyond_band,
    wanted_change,
    wanted_curvature,
    wanted_slope,
)
from optimizer.cli.main import main
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.models.aim import Aim
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.readings import Readings
from optimizer.models.remedies import CountedFrom, HeldAgainstBand
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.gauging.sweeps import judged, kind_of, only
from tests.optimizer.one_wheel import curve_of

ANGLE_ATOL_DEG = 1e-9
CASE = Path(__file__).parents[3] / "cases" / "lowered-strut.toml"
TEXT = CASE.read_text(encoding="utf-8")
READER = Reader(subject_of(Vehicle((read_case(CASE),))))
TRAVEL = np.arange(-50.0, 51.0, 10.0)
BAND = ((-50.0, 0.0, 0.2), (0.0, -0.05, 0.05), (50.0, -0.2, 0.0))
NEAR_TOE_OUT = "band = [[-60.0, 0.0, 0.24], [0.0, -0.01, 0.01], [50.0, -0.21, 0.01]]"


def wanted_deg(band, travel):
    return np.degrees(wanted_change(Aim(band=band), np.array(travel))).tolist()


def case_with(aim):
    assert TEXT.count("[aim]\n") == 1
    return case_from_toml(TEXT.replace("[aim]\n", f"[aim]\n{aim}\n"), "with a band")


def suggested(case):
    return suggest(Vehicle((case,)))


def test_a_gain_is_wanted_as_a_straight_line_through_ride_height():
    aim = Aim(toe_gain_deg_per_10mm=-0.03)
    found = np.degrees(wanted_change(aim, TRAVEL))
    assert found == pytest.approx(-0.003 * TRAVEL, abs=ANGLE_ATOL_DEG)
    assert np.degrees(wanted_slope(aim)) == pytest.approx(-0.003)
    assert wanted_curvature(aim, TRAVEL) == 0.0


def test_a_band_is_wanted_to_be_kept_in_the_middle():
    # The middle runs from +0.1 deg at 50 mm of droop to -0.1 deg at 50 mm of bump.
    assert wanted_deg(BAND, TRAVEL) == pytest.approx(-0.002 * TRAVEL, abs=ANGLE_ATOL_DEG)
    assert np.degrees(wanted_slope(Aim(band=BAND))) == pytest.approx(-0.002)


def test_a_band_that_is_lopsided_at_ride_height_is_left_there_and_kept_in_the_middle_elsewhere():
    never_toe_out = ((-40.0, 0.0, 0.1), (20.0, 0.0, 0.1))
    found = wanted_deg(never_toe_out, [-40.0, -20.0, 0.0, 10.0, 20.0])
    assert found == pytest.approx([0.05, 0.025, 0.0, 0.025, 0.05], abs=ANGLE_ATOL_DEG)
    rows_beside = ((-40.0, 0.0, 0.1), (0.0, -0.1, 0.2), (20.0, 0.0, 0.1))
    assert wanted_deg(rows_beside, [-40.0, 0.0, 20.0]) == pytest.approx([0.05, 0.0, 0.05])


def test_beyond_its_ends_the_middle_goes_on_straight():
    bump_only = ((20.0, -0.1, 0.0), (40.0, -0.15, -0.05))
    slope = (20.0 * -0.05 + 40.0 * -0.1) / (20.0**2 + 40.0**2)
    found = wanted_deg(bump_only, [-30.0, 0.0, 10.0, 40.0, 60.0])
    expected = [-30.0 * slope, 0.0, -0.025, -0.1, -0.1 + 20.0 * slope]
    assert found == pytest.approx(expected, abs=ANGLE_ATOL_DEG)


def test_the_curvature_of_what_is_wanted_is_that_of_its_middle():
    heights = np.linspace(-60.0, 60.0, 25)
    arch = tuple((t, 1e-5 * t * t - 0.01, 1e-5 * t * t + 0.01) for t in heights)
    found = np.degrees(wanted_curvature(Aim(band=arch), heights))
    assert found == pytest.approx(1e-5, rel=1e-9)


def test_between_its_rows_a_band_is_straight_and_beyond_its_ends_it_says_nothing():
    change = np.array([0.3, 0.2, 0.06, -0.2, -0.15, 0.0])
    travel = np.array([-50.0, -25.0, 0.0, 25.0, 50.0, 51.0])
    expected = [0.1, 0.075, 0.01, -0.075, 0.0, np.nan]
    found = beyond_band(BAND, travel, change)
    assert found == pytest.approx(expected, abs=ANGLE_ATOL_DEG, nan_ok=True)
    assert not band_verdict(BAND, travel, change).within
    assert band_verdict(BAND, travel, np.array([0.1, 0.05, 0.0, -0.05, -0.1, 9.0])).within


@pytest.mark.parametrize(
    ("slope", "square", "told"),
    [
        (-0.002, 0.0, "inside the wanted band at all 11 readings that it covers"),
        (
            +0.002,
            1e-5,
            "outside the wanted band at 8 of 11 readings, most at travel 50 mm: 0.125 deg more "
            "toe-in than it allows",
        ),
        (
            -0.006,
            -1e-5,
            "outside the wanted band at 8 of 11 readings, most at travel 50 mm: 0.125 deg more "
            "toe-out than it allows",
        ),
    ],
)
def test_a_curve_is_judged_height_by_height(slope, square, told):
    found = band_verdict(BAND, TRAVEL, slope * TRAVEL + square * TRAVEL**2, "readings")
    assert sentence(found, READER) == told
    assert found.within == told.startswith("inside")


def test_heights_that_the_band_does_not_cover_are_not_judged():
    far = ((60.0, -0.1, 0.1), (80.0, -0.1, 0.1))
    found = band_verdict(far, TRAVEL, -0.002 * TRAVEL)
    assert sentence(found, READER) == "not covered by the wanted band at any of its heights"
    assert not found.within


BROKEN_BANDS = {
    "turned over": ([[-1.0, 0.2, 0.1], [1.0, -0.1, 0.1]], "band[1]", "must be [travel, least"),
    "two numbers": ([[-1.0, 0.2], [1.0, -0.1, 0.1]], "band[1]", "must be [travel, least"),
    "one height": ([[0.0, -0.1, 0.2]], "band", "two heights or more"),
    "no height": ([], "band", "two heights or more"),
    "an empty row": ([[], [1.0, -0.1, 0.1]], "band[1]", "must be [travel, least"),
    "from the top down": ([[1.0, -0.1, 0.1], [-1.0, -0.1, 0.1]], "band", "lowest first"),
    "minutes": ([[-1.0, -20.0, 20.0], [1.0, 0.0, 0.0]], "band[1]", "at most 15 deg, in degrees"),
    "a word": ([[-1.0, "none", 0.1], [1.0, 0.0, 0.0]], "band[1]", 'a number, got "none"'),
    "not a number": ([[-1.0, float("nan"), 0.1], [1.0, 0.0, 0.0]], "band[1]", "finite number"),
    "static toe in it": (
        [[-50.0, 0.1, 0.3], [50.0, 0.0, 0.2]], "band", "must let toe change be 0 at travel 0"
    ),
}  # fmt: skip


@pytest.mark.parametrize("about", BROKEN_BANDS)
@pytest.mark.parametrize("model", ["case", "readings"])
def test_a_broken_band_is_named_where_it_stands(about, model):
    band, where, message = BROKEN_BANDS[about]
    if model == "case":
        table, kind = tomllib.loads(TEXT), Case
    else:
        rows = [[-1.0, 0.0], [0.0, 0.0], [1.0, 0.0]]
        table = {"format": 1, "units": "mm", "kind": "angle", "readings": rows}
        kind = Readings
    table = copy.deepcopy(table) | {"aim": {"band": band}}
    with pytest.raises(ValidationError) as caught:
        kind.model_validate(table)
    assert f"aim.{where} {message}" in str(caught.value) or (
        f"aim.{where}" in str(caught.value) and message in str(caught.value)
    )


def test_a_gain_beside_a_band_is_refused():
    with pytest.raises(ValidationError, match="toe_gain_deg_per_10mm must be left out where"):
        Aim(band=BAND, toe_gain_deg_per_10mm=0.02)


def test_a_case_in_inches_has_its_band_in_inches():
    inches = CASE.with_name("kit-car-inches.toml").read_text(encoding="utf-8")
    band = "band = [[-2.0, -0.1, 0.1], [2.0, -0.1, 0.1]]"
    text = inches.replace("[aim]\n", f"[aim]\n{band}\n")
    assert text != inches
    case = case_from_toml(text, "inches")
    assert [row[0] for row in case.aim.band] == pytest.approx([-50.8, 50.8])
    assert [row[1] for row in case.aim.band] == [-0.1, -0.1]


def test_a_case_with_a_band_survives_being_written_and_read_as_python_data():
    case = case_with(NEAR_TOE_OUT)
    assert Case.model_validate(case.model_dump()) == case


def test_the_search_aims_at_the_middle_of_the_band_and_every_setting_is_judged_by_it():
    case = case_with(NEAR_TOE_OUT)
    answer, plain = suggested(case), suggested(read_case(CASE))
    (best,), (aimless,) = answer.ranked[0].wheels, plain.ranked[0].wheels
    assert (best.outer_drop_mm, best.rack_raise_mm) != (
        aimless.outer_drop_mm,
        aimless.rack_raise_mm,
    )
    for row in (wheel for option in answer.ranked for wheel in option.wheels):
        fitted = Settings.single(row.outer_drop_mm, row.rack_raise_mm)
        evaluator = Evaluator.of(read_case(CASE))  # knows of no band
        travel = evaluator.travel
        toe = np.degrees(toe_change(travel, evaluator.toe(fitted, travel)[0]))
        middle = np.interp(travel, [-60.0, 0.0, 50.0], [0.12, 0.0, -0.1])
        assert row.peak_toe_change_deg == pytest.approx(np.abs(toe - middle).max(), abs=1e-6)
        assert row.band.within == band_verdict(case.aim.band, travel, toe).within
    assert best.band.within
    assert not answer.as_is.wheels[0].band.within


def test_a_band_as_wide_as_the_tolerance_is_kept_in_as_many_possible_cars():
    bands = [f"band = [[-60.0, -{wide}, {wide}], [50.0, -{wide}, {wide}]]" for wide in (0.2, 3.0)]
    plain, (band, wide) = case_with("").model_dump(), map(case_with, bands)
    plain["aim"]["tolerance_deg"] = 0.2
    told = {
        (one.rack_raise_mm, one.wheels[0].outer_drop_mm): one.chances
        for one in suggested(Case.model_validate(plain)).ranked
    }
    answer, compared = suggested(band), list[float]()
    for one in answer.ranked:
        same = told.get((one.rack_raise_mm, one.wheels[0].outer_drop_mm))
        if same is not None:
            compared.append(same.meets_tolerance_probability)
            assert one.chances.of_band
            assert one.chances.meets_tolerance_probability == pytest.approx(compared[-1], abs=0.01)
    assert len(compared) > 2
    assert 0.1 < max(compared) < 0.9
    assert suggested(wide).ranked[0].chances.meets_tolerance_probability == 1.0


def test_in_how_many_cars_a_band_is_kept_is_what_cars_made_one_by_one_say():
    """Its ends are far wider than the tolerance, which therefore tells nothing of it."""
    case = case_with("band = [[-60.0, -0.1, 0.5], [0.0, -0.01, 0.01], [50.0, -0.4, 0.1]]")
    exact = {"stack": 0.0, "ride_height": 0.0, "rack_center": 0.0, "toe_setting_deg": 0.0}
    accuracy = case.accuracy.model_copy(update=exact | {"rod_play": 0.0})
    case = case.model_copy(update={"accuracy": accuracy})
    answer = suggested(case)
    (row,), first = answer.ranked[0].wheels, answer.ranked[0].chances
    fitted, rng = Settings.single(row.outer_drop_mm, row.rack_raise_mm), np.random.default_rng(11)
    kept = []
    for _ in range(300):
        points = {
            name: tuple(np.add(at, rng.normal(0.0, case.accuracy.points, 3)))
            for name, at in case.points.model_dump().items()
        }
        moved = case.model_copy(update={"points": case.points.model_copy(update=points)})
        evaluator = Evaluator.of(moved)
        toe = evaluator.toe(fitted, TRAVEL)[0]
        change = np.degrees(toe - toe[5])
        low = np.interp(TRAVEL, [-60.0, 0.0, 50.0], [-0.1, -0.01, -0.4])
        high = np.interp(TRAVEL, [-60.0, 0.0, 50.0], [0.5, 0.01, 0.1])
        kept.append(((low <= change) & (change <= high)).all())
    by_the_tolerance = answer.wheels[0].uncertainty
    assert by_the_tolerance.of_band
    for found in (first, by_the_tolerance):
        assert found.meets_tolerance_probability == pytest.approx(np.mean(kept), abs=0.08)
    assert np.mean(kept) > 0.15
    assert first.peak_median_deg > case.aim.tolerance_deg


def test_what_the_gauge_should_show_is_the_whole_toe_change_and_lies_in_the_band():
    case = case_with(NEAR_TOE_OUT)
    expected = suggested(case).wheels[0].expected
    travel = np.array([row.travel_mm for row in expected])
    change = np.array([row.toe_change_deg for row in expected])
    assert band_verdict(case.aim.band, travel, change).within
    assert change[-1] < -0.05


def test_a_setting_in_the_band_is_found_wherever_there_is_one_by_trying_all():
    case = case_with(NEAR_TOE_OUT)
    evaluator = Evaluator.of(read_case(CASE))
    toe = evaluator.toe(space_of(case).settings, evaluator.travel)
    change = np.degrees(toe - toe[:, evaluator.home, None])
    inside = [band_verdict(case.aim.band, evaluator.travel, row).within for row in change]
    assert 0 < sum(inside) < len(inside) / 10
    assert suggested(case).ranked[0].wheels[0].band.within


def test_a_curve_is_held_against_the_band_at_any_setting():
    case = case_with(NEAR_TOE_OUT)
    (best,) = suggested(case).ranked[0].wheels
    fitted = CurveRequest(outer_drop=best.outer_drop_mm, rack_raise=best.rack_raise_mm)
    kept = sentence(curve_of(case, fitted).band, READER)
    assert kept == "inside the wanted band at all 12 heights that it covers"
    left = curve_of(case)
    assert sentence(left.band, READER).startswith("outside the wanted band at")
    assert left.notes == []
    assert curve_of(read_case(CASE)).band is None


def test_the_gauge_judges_the_whole_band_however_few_heights_were_read():
    """Read at both ends and ride height, a C seems to keep a band that it leaves in between."""
    case = case_with("band = [[-60.0, -0.5, 0.5], [25.0, -0.5, -0.2], [50.0, -0.5, 0.5]]")
    table = tomllib.loads((CASE.parent / "readings" / CASE.name).read_text(encoding="utf-8"))
    ends = [row for row in table["readings"] if row[0] in (-60.0, 0.0, 50.0)]
    found = judged(case, [Readings.model_validate(table | {"readings": ends})])
    assert [row.travel_mm for row in found.expected] == [-60.0, 0.0, 50.0]
    assert not found.next.within_band


def test_the_gauge_takes_the_band_of_the_case_unless_the_readings_have_an_aim_of_their_own():
    case = case_with(NEAR_TOE_OUT)
    table = tomllib.loads((CASE.parent / "readings" / CASE.name).read_text(encoding="utf-8"))
    sweep = Readings.model_validate(table)
    answer = judged(case, [sweep])
    assert only(HeldAgainstBand, answer.diagnosis).verdict.outside
    assert only(CountedFrom, answer.diagnosis).kind == "band"
    assert answer.next.within_band
    own = judged(case, [Readings.model_validate(table | {"aim": {"tolerance_deg": 0.05}})])
    assert own.next.within_band is None
    assert kind_of(HeldAgainstBand, own.diagnosis) == kind_of(CountedFrom, own.diagnosis) == []
    assert own.next != answer.next


def test_the_commands_say_what_the_band_makes_of_the_car(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text(TEXT.replace("[aim]\n", f"[aim]\n{NEAR_TOE_OUT}\n"), encoding="utf-8")

    def told(*words):
        assert main([*words]) == 0
        return " ".join(capsys.readouterr().out.split())

    report = told("suggest", str(path), "--trials", "8", "--verbose")
    assert "toe-in than the middle of the wanted band at" in report
    assert "Slope, from the middle of the wanted band," in report
    assert "It is outside the wanted band at" in report
    assert "Number 1 is inside the wanted band at all 25 heights that it covers." in report
    assert "wanted band now outside the wanted band at" in told("check", str(path))
    assert "The toe curve is outside the wanted band at" in told("curve", str(path))
    (wheel,) = json.loads(told("curve", str(path), "--json"))["wheels"]
    assert wheel["band"].startswith("outside the wanted band at")
    assert wheel["facts"]["band"]["judged"] == len(wheel["travel_mm"])


def test_a_band_that_does_not_reach_over_the_used_travel_is_a_doubt(tmp_path, capsys):
    short = "band = [[-40.0, -0.05, 0.05], [50.0, -0.05, 0.05]]"
    path = tmp_path / "car.toml"
    path.write_text(TEXT.replace("[aim]\n", f"[aim]\n{short}\n"), encoding="utf-8")
    assert main(["check", str(path)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "aim.band: covers travel -40 mm to 50 mm, the car uses -60 mm to 50 mm" in told
    assert "peaks count from its middle as it goes on there, straight" in told
