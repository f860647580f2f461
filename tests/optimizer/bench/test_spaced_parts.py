"""A plate under the strut's foot and a spaced crossmember: named changes, searched and compared."""

import json
from pathlib import Path

import numpy as np
import pytest

from geometry.wheel_angles import toe_angle
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml
from optimizer.models.case import Case
from optimizer.models.hardware import Crossmember, KnucklePlate
from optimizer.models.vehicle import Vehicle
from tests.geometry.multibody import multibody_sweep
from tests.optimizer.matrix_cars import car
from tests.optimizer.options.exhaustive import SAME_DEG, EveryOption

ANGLE_ATOL_DEG = 1e-9
DOWN = np.array([0.0, 0.0, -1.0])
TRAVEL = np.linspace(-40.0, 40.0, 9)
PLATE, SPACER = 30.0, 10.0
STRUT = Path("cases/lowered-strut.toml").read_text()
PARTS = "[knuckle_plate]\nthickness = [0.0, 30.0]\n[crossmember]\nspacer = [0.0, 10.0]\n"
BOTH_LAYOUTS = pytest.mark.parametrize("layout", ["strut", "double-wishbone"])


def with_parts(case: Case, *, rack: bool = True, **lists: tuple[float, ...]) -> Case:
    plate = KnucklePlate(thickness=lists.get("plate", (0.0,)))
    crossmember = Crossmember(spacer=lists.get("spacer", (0.0,)), carries_rack=rack)
    return case.model_copy(update={"knuckle_plate": plate, "crossmember": crossmember})


@pytest.mark.parametrize("rack", [True, False], ids=["with the rack", "without it"])
@pytest.mark.parametrize(("plate", "spacer"), [(PLATE, 0.0), (0.0, SPACER), (PLATE, SPACER)])
@BOTH_LAYOUTS
def test_the_multibody_library_steers_the_wheel_alike(layout, plate, spacer, rack):
    """The arm and its joint go down whole; the upright carries the joint where it did, or lower."""
    case = car("one", "range", layout, "mm", lower_ball_joint={}).case
    evaluator = Evaluator.of(with_parts(case, plate=(plate,), spacer=(spacer,), rack=rack))
    corner, setting = evaluator.corner, Settings.single(3.0, 2.0)
    points = dict(corner.measured)
    inner = points["tie_rod_inner"] - (2.0 - rack * spacer) * DOWN
    outer = points["tie_rod_outer"] + (3.0 + plate) * DOWN
    arm = {name: points[name] + spacer * DOWN for name in points if name.startswith("lower_")}
    sweep = multibody_sweep(
        layout,
        points | arm,
        (inner, outer, float(evaluator.rod_length(setting)[0])),
        TRAVEL + case.ride.lowered_by,
        ball_joint_drop=plate - spacer,
    )
    there = np.degrees(toe_angle(sweep.rotation @ corner.spin))
    here = np.degrees(evaluator.toe(setting, TRAVEL)[0])
    np.testing.assert_allclose(here, there, rtol=0, atol=ANGLE_ATOL_DEG)


@BOTH_LAYOUTS
def test_they_are_searched_like_everything_else(layout):
    """Against trying every option, limits included."""
    case = with_parts(
        car("one", "range", layout, "mm", lower_ball_joint={}).case,
        plate=(0.0, PLATE),
        spacer=(0.0, SPACER),
    )
    every, found = EveryOption(Vehicle((case,))), suggest(Vehicle((case,)))
    assert found.certificate.combinations == len(every.options)
    assert found.ranked[0].peak_toe_change_deg == pytest.approx(
        every.ranking[0].peak_deg, abs=SAME_DEG
    )


def test_the_answer_names_them_and_warns_of_longer_bolts(tmp_path, capsys):
    path = tmp_path / "strut.toml"
    text = STRUT.replace("[lower_ball_joint]", f"{PARTS}[lower_ball_joint]", 1)
    if text == STRUT:
        text = STRUT + PARTS
    text = text.replace("thickness = [0.0, 30.0]", "thickness = [30.0]")
    path.write_text(text)
    assert main(["suggest", str(path), "--json"]) in (0, 1)
    answer = json.loads(capsys.readouterr().out)
    assert all(row["knuckle_plate_mm"] == PLATE for row in answer["ranked"] if not row["is_as_is"])
    assert {row["crossmember_spacer_mm"] for row in answer["ranked"]} <= {0.0, SPACER}
    main(["suggest", str(path)])
    told = " ".join(capsys.readouterr().out.split())
    assert "knuckle plate 30.0 mm" not in told  # it is on the car
    assert "lengthens bolts that hold the wheel" in told


def test_no_plate_without_a_lower_ball_joint():
    links = Path("cases/five-link-front.toml").read_text() + "[knuckle_plate]\nthickness = 30.0\n"
    with pytest.raises(PivotwrightError, match=r"knuckle_plate +must be left out"):
        car_from_toml(links, "car")
