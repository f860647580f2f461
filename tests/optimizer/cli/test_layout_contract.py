"""Every command on every layout: the demo cars and the good cases, through the program.

`suggest`, `curve` and `check` of the demo cars are in test_json_contract.py; what random cars of
every layout keep (mirror, shift, inches, batches) is in tests/test_properties.py.
"""

import re
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from geometry.motion import Motion
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import car_from_toml, case_from_toml, read_case
from optimizer.models.curve import CurveRequest
from optimizer.models.gauge import GaugeResult
from optimizer.models.reach import ReachResult
from optimizer.models.sheet import Sheet
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_suggest import suggest_report
from tests.optimizer.case_texts import GOOD_CASES
from tests.optimizer.command_line import (
    CASES,
    CURVE_LISTS,
    RESULTS,
    answer_of,
    document_of,
    run,
    strictly_json,
)
from tests.optimizer.one_wheel import curve_of

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
DEMO_CARS = {f"demo {path.stem}": path for path in sorted(CASES.glob("*.toml"))}
CARS = {
    name: path
    for name, path in (
        DEMO_CARS | {f"good {name}": path for name, path in GOOD_CASES.items()}
    ).items()
    if "\nlayout" in (text := path.read_text("utf-8")) and "\n[left." not in text
}
AXLES = {name: path for name, path in CARS.items() if read_case(path).layout.endswith("-axle")}
ANSWERS = RESULTS | {"reach": ReachResult, "sheet": Sheet, "gauge": GaugeResult}
# What the contract suite of the demo cars holds already.
ELSEWHERE = set(product(RESULTS, (name for name in CARS if name.startswith("demo"))))
# A few seconds: what is fitted next is drawn over every bracket, arm and stack of the truck.
LONG = {("gauge", f"demo lifted-{axle}-axle") for axle in ("beam", "leaf")}
ROWS = [
    pytest.param(
        command,
        path,
        id=f"{command}, {name}",
        marks=[pytest.mark.slow] if (command, name) in LONG else [],
    )
    for command, (name, path) in product(ANSWERS, CARS.items())
    if (command, name) not in ELSEWHERE
]
FARTHEST = {"beam-axle": 900.0}  # mm of bump; an axle on meter-long links reaches 400
BEYOND = 400.0


def swept(path: Path, folder: Path) -> Path:
    """Readings of the car as it is, each off by a little."""
    found = curve_of(read_case(path))
    rows = [
        f"[{travel}, {toe + 0.004 * (-1.0) ** k}]"
        for k, (travel, toe) in enumerate(zip(found.travel_mm, found.toe_deg, strict=True))
    ]
    sweep = folder / "sweep.toml"
    sweep.write_text(
        'format = 1\nunits = "mm"\nkind = "angle"\nouter_drop = 0.0\nrack_raise = 0.0\n'
        f"readings = [{', '.join(rows)}]\n",
        "utf-8",
    )
    return sweep


def options_of(command: str, path: Path, folder: Path) -> list[object]:
    """What keeps a command short, and a sweep for the one that needs readings."""
    if command == "gauge":
        return [swept(path, folder)]
    own = read_case(path).ride.lowered_by
    short = {"sheet": ["--outer-drop", "4mm"], "reach": [f"--heights={own}:{own}:1mm"]}
    return short.get(command, [])


@pytest.mark.parametrize(("command", "path"), ROWS)
def test_every_command_answers_for_every_layout_as_its_schema_says(capsys, tmp_path, command, path):
    code = run(command, path, *options_of(command, path, tmp_path), "--json")
    out, err = capsys.readouterr()
    assert code in (0, 1)
    doubts = [] if command != "sheet" else ["Worth a second look: "]  # no part of the sheet
    assert all(line.startswith(tuple(doubts)) for line in err.splitlines())
    document = document_of(ANSWERS[command], out)
    if command != "gauge":  # its facts are of any kind
        answer_of(ANSWERS[command], out)
    assert document["format"] == 2
    assert document["subject"]["layout"] == read_case(path).layout
    found = {
        "suggest": lambda: document["facts"]["verdict"]["meets"],
        "reach": lambda: any(row["reachable"] for row in document["heights"]),
        "gauge": lambda: all(meets(wheel["next"]) for wheel in document["wheels"]),
    }
    assert code == (0 if found.get(command, lambda: True)() else 1)


def meets(found):
    """Whether a next setting meets what is wanted: the band, or else the tolerance."""
    if found is None:
        return False
    return found["misses_by_deg"] is None if found["within_band"] is None else found["within_band"]


def test_the_cars_of_this_suite_are_of_every_layout_and_both_sides_and_units():
    cases = [read_case(path) for path in CARS.values()]
    assert len({case.layout for case in cases}) == 6
    assert {case.units for case in cases} == {"mm", "in"}
    assert {np.sign(case.points.wheel_center[1]) for case in cases} == {-1.0, 1.0}


@pytest.mark.parametrize("path", CARS.values(), ids=CARS)
def test_a_height_out_of_reach_is_null_in_every_list_with_a_sentence(capsys, path):
    bump = FARTHEST.get(read_case(path).layout, BEYOND)
    assert run("curve", path, "--json", "--bump", f"{bump}mm", "--droop", 0, "--step", "100mm") == 0
    document = strictly_json(capsys.readouterr().out)
    (wheel,) = document["wheels"]
    lost = [value is None for value in wheel["toe_deg"]]
    assert lost[-1]
    assert not lost[wheel["travel_mm"].index(0.0)]
    lists = {name for name, value in wheel.items() if isinstance(value, list)} - {"notes", "drift"}
    assert lists >= set(CURVE_LISTS)
    steers = document["subject"]["axle"] == "front"
    for name in lists - {"travel_mm"}:
        if steers or name not in ("caster_deg", "kingpin_inclination_deg"):
            assert [value is None for value in wheel[name]] == lost, name
    told = re.findall(r"No pose at travel (.*?): ", " ".join(wheel["notes"]))
    assert sum(part.count(",") + 1 for part in told) == sum(lost)


@pytest.mark.parametrize("path", CARS.values(), ids=CARS)
def test_moving_the_other_wheel_the_other_way_changes_an_axle_and_nothing_else(path):
    case = read_case(path)
    heave, roll = (curve_of(case, CurveRequest(opposite=opposite)) for opposite in (False, True))
    if not case.layout.endswith("-axle"):
        assert roll == heave
        return
    home = heave.travel_mm.index(0.0)
    away = np.arange(len(heave.travel_mm)) != home
    for name in ("toe_deg", "other_wheel_toe_deg", "camber_deg"):
        change = np.subtract(getattr(roll, name), getattr(heave, name))
        assert abs(change[home]) < ANGLE_ATOL_DEG
        assert (np.abs(change[away]) > 1e-3).all()


# ---- the two wheels of an axle ----


def rises(motion: Motion, case_wheel_center: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far this wheel's center and the other one's have risen. [mm]"""
    other = case_wheel_center * [1.0, -1.0, 1.0]
    return (
        motion.moved(case_wheel_center)[0, :, 2] - case_wheel_center[2],
        motion.other_wheel.moved(other)[0, :, 2] - other[2],
    )


@pytest.mark.parametrize("path", AXLES.values(), ids=AXLES)
def test_in_heave_the_other_wheel_of_an_axle_rises_alike_and_in_roll_it_falls(path):
    case = read_case(path)
    evaluator, measured = Evaluator.of(case), case.ride.lowered_by
    center = evaluator.corner.points["wheel_center"]
    heave, roll = (
        each.motion(Settings.single(), each.travel) for each in (evaluator, evaluator.rolling())
    )
    here, there = rises(heave, center)
    np.testing.assert_allclose(here, there, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(here - measured, evaluator.travel, rtol=0, atol=LENGTH_ATOL_MM)
    here, there = rises(roll, center)
    np.testing.assert_allclose(here - measured, evaluator.travel, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(there - measured, -evaluator.travel, rtol=0, atol=LENGTH_ATOL_MM)


@pytest.mark.parametrize("opposite", [False, True], ids=["heave", "roll"])
@pytest.mark.parametrize("path", AXLES.values(), ids=AXLES)
def test_the_cross_rod_steers_both_wheels_of_an_axle_the_same_way(path, opposite):
    found = curve_of(read_case(path), CurveRequest(opposite=opposite))
    home = found.travel_mm.index(0.0)
    here, other = (np.array(toe) - toe[home] for toe in (found.toe_deg, found.other_wheel_toe_deg))
    assert np.abs(here).max() > 0.5
    # Toe-in of one wheel and toe-out of the other steer one way.  They differ by what the arms of
    # the cross rod make of a turn (it grows with the square of the angle), and by the cambers.
    assert (np.abs(here + other) <= 0.02 + 0.15 * np.abs(here)).all()


def mirrored(text: str) -> str:
    """The same axle measured at its other wheel; points and brackets only."""
    head, points, rest = re.split(r"(?ms)^(\[points\].*?)(?=^\[)", text, maxsplit=1)
    turned = re.sub(
        r"(?m)^(\w+ *= \[ *[-\d.]+, *)(-?)", lambda m: m[1] + ("" if m[2] else "-"), points
    )
    return head + turned + rest


SAME = {
    "outer_drop_mm",
    "rack_raise_mm",
    "frame_bracket_raise_mm",
    "axle_bracket_raise_mm",
    "lift_block_mm",
    "shackle_longer_mm",
    "peak_toe_change_deg",
    "toe_slope_deg_per_10mm",
    "toe_curvature_deg",
    "clearance_mm",
    "tie_rod_length_change_mm",
    "steer_rate_change_percent",
}


@pytest.mark.parametrize("path", AXLES.values(), ids=AXLES)
def test_an_axle_measured_at_its_right_wheel_has_the_curve_of_the_mirrored_left_one(path):
    here = read_case(path)
    there = case_from_toml(mirrored(path.read_text(encoding="utf-8")), "mirrored")
    for name, point in here.points.model_dump().items():
        assert getattr(there.points, name) == (point[0], -point[1], point[2])
    assert {here.side, there.side} == {"left", "right"}
    asked = CurveRequest(outer_drop=5.0, rack_raise=-10.0, rack_travel=20.0)
    across = here.steering.rack_axis[1]  # a pitman ball that goes forward does so on either side
    back = asked.model_copy(update={"rack_travel": -20.0 if across else 20.0})
    for opposite in ({"opposite": False}, {"opposite": True}):
        one = curve_of(here, asked.model_copy(update=opposite))
        other = curve_of(there, back.model_copy(update=opposite))
        told = one.model_dump(exclude={"side", "notes", "drift"}, exclude_none=True)
        for here_drifts, there_drifts in zip(one.drift, other.drift, strict=True):
            assert here_drifts.lower_deg == pytest.approx(there_drifts.lower_deg, abs=1e-9)
            assert here_drifts.higher_deg == pytest.approx(there_drifts.higher_deg, abs=1e-9)
        for name, values in told.items():
            np.testing.assert_allclose(
                getattr(other, name), values, rtol=0, atol=LENGTH_ATOL_MM, err_msg=name
            )


@pytest.mark.parametrize("name", ["good beam-axle", "good leaf-axle"])
def test_an_axle_measured_at_its_right_wheel_has_the_ranking_of_the_mirrored_left_one(name):
    text = AXLES[name].read_text(encoding="utf-8")
    one, other = (suggest(car_from_toml(each, "axle")) for each in (text, mirrored(text)))
    assert {*one.subject.sides, *other.subject.sides} == {"left", "right"}
    assert len(one.ranked) == len(other.ranked) > 3
    for mine, its in zip(one.ranked, other.ranked, strict=True):
        (here,), (there,) = mine.wheels, its.wheels
        for name in SAME:
            assert getattr(there, name) == pytest.approx(
                getattr(here, name), rel=0, abs=LENGTH_ATOL_MM
            ), name


@pytest.mark.parametrize("name", [name for name in DEMO_CARS if name in CARS])
def test_points_known_exactly_leave_no_spread_and_nothing_to_measure_again(name: str) -> None:
    car = read_case(CARS[name])
    nothing = dict.fromkeys(
        ("points", "stack", "ride_height", "rack_center", "toe_setting_deg", "rod_play"), 0.0
    )
    exact = car.model_copy(update={"accuracy": car.accuracy.model_copy(update=nothing)})
    found = suggest(Vehicle((exact,)))
    sure = found.wheels[0].uncertainty
    assert sure.remeasure_share == 0.0
    assert sure.peak_95_deg == pytest.approx(sure.peak_median_deg)
    assert "most telling" not in suggest_report(found, "car")
