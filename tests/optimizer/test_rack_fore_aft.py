"""The rack moved fore and aft: one more dimension of the option space, from the case to the answer.

The cars are invented; that every option is listed, ranked and proved is shown in
`options/test_dimensions.py`.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from optimizer.answers.curve import curve
from optimizer.answers.reach import reach
from optimizer.answers.suggest import suggest
from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml
from optimizer.gauging.loop import gauge
from optimizer.models.curve import CurveRequest
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import option_space
from optimizer.options.study.parameters import Parameters
from tests.optimizer.gauging.sweeps import readings as sweep
from tests.optimizer.matrix_cars import car
from tests.random_cars import GOOD_POINTS

ANGLE_ATOL_DEG = 1e-9
STRUT = Path("cases/lowered-strut.toml").read_text()
FORE_AFT = STRUT.replace("[rack]\n", "[rack]\nfore_aft = [-8.0, 0.0, 8.0]\n")


def strut() -> Vehicle:
    assert FORE_AFT != STRUT
    return car_from_toml(FORE_AFT, "strut")


@pytest.mark.parametrize("layout", [name for name in GOOD_POINTS if not name.endswith("-axle")])
def test_a_rack_moved_forward_is_a_car_measured_with_its_inner_pivot_farther_ahead(layout):
    whole = car("one", "range", layout, "mm")
    case = whole.case
    x, y, z = case.points.tie_rod_inner
    ahead = case.points.model_copy(update={"tie_rod_inner": (x + 7.0, y, z)})
    moved = curve(whole, CurveRequest(rack_fore_aft=7.0)).wheels[0]
    measured = curve(Vehicle((case.model_copy(update={"points": ahead}),))).wheels[0]
    as_is = curve(whole).wheels[0]
    assert moved.toe_deg == pytest.approx(measured.toe_deg, abs=ANGLE_ATOL_DEG)
    assert moved.toe_deg != pytest.approx(as_is.toe_deg, abs=1e-6)


def test_it_is_ranked_proved_and_told_in_words_and_figures(tmp_path, capsys):
    path = tmp_path / "strut.toml"
    path.write_text(FORE_AFT)
    assert main(["suggest", str(path), "--json"]) in (0, 1)
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    moves = {row["rack_fore_aft_mm"] for row in answer["ranked"]}
    assert moves & {-8.0, 8.0}
    assert answer["certificate"]["combinations"] == 3 * combinations(STRUT)
    main(["suggest", str(path)])
    told = capsys.readouterr().out
    assert "move rack 8.0 mm forward" in told or "move rack 8.0 mm rearward" in told


def combinations(text: str) -> int:
    return suggest(car_from_toml(text, "car")).certificate.combinations


def test_moving_the_rack_changes_the_turn_of_the_inner_wheel_against_the_outer_one():
    result = suggest(strut())
    (row, *_) = [row for row in result.ranked if row.rack_fore_aft_mm]
    assert row.wheels[0].steer_rate_change_percent != pytest.approx(0.0, abs=0.01)
    assert row.wheels[0].rack_fore_aft_mm == row.rack_fore_aft_mm


def test_the_study_has_it_as_a_parameter_of_its_own():
    parameters = Parameters(option_space(strut()))
    places = parameters.distributions["rack fore and aft"]
    assert (places.low, places.high) == (0, 3)


def test_reach_names_it_where_it_is_what_meets_the_tolerance():
    text = FORE_AFT.replace("fore_aft = [-8.0, 0.0, 8.0]", "fore_aft = [8.0]")
    rows = reach(car_from_toml(text, "strut"), [40.0]).heights
    assert {row.rack_fore_aft_mm for row in rows if row.reachable} <= {8.0, 0.0}
    needed = [wheel.needed for row in rows for wheel in row.wheels if wheel.needed]
    assert all(one.rack_fore_aft_mm == 8.0 for one in needed)
    assert needed or any(row.reachable for row in rows)


def readings(**said: float) -> Readings:
    rows = [[50.0, -0.6], [25.0, -0.3], [0.0, 0.0], [-30.0, 0.3], [-60.0, 0.6]]
    return sweep("angle", rows, reading_grows=None, **said)


def test_a_sweep_of_a_car_whose_rack_may_go_fore_and_aft_must_say_where_it_was():
    with pytest.raises(PivotwrightError, match="rack_fore_aft"):
        gauge(strut(), [readings()])
    answer = gauge(strut(), [readings(rack_fore_aft=8.0)])
    assert answer.wheels[0].next is not None
    assert answer.wheels[0].next.rack_fore_aft_mm in (-8.0, 0.0, 8.0)


def test_inches_and_slips_are_read_as_elsewhere():
    case = car_from_toml(FORE_AFT, "strut").case
    assert case.rack.places[:3] == tuple((case.rack.spacers[0], x) for x in (-8.0, 0.0, 8.0))
    twice = FORE_AFT.replace("[-8.0, 0.0, 8.0]", "[8.0, 8.0]")
    with pytest.raises(PivotwrightError, match=r"rack\.fore_aft\[2\] +must be listed once"):
        car_from_toml(twice, "strut")
