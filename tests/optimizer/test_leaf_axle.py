"""A leaf-sprung truck from case file to answer: what is fitted, what is said, what is refused.

That blocks, shackles and leaves move the axle as they do is shown against a multibody library in
`tests/geometry/test_axle_against_multibody.py`, and by hand beside it.
"""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from geometry.toe_curve import toe_curve
from optimizer.answers.check import check
from optimizer.answers.curve import curve
from optimizer.answers.suggest import suggest
from optimizer.car.adjust import UP
from optimizer.car.diagnosis import diagnosis
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml, case_from_toml, read_case
from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.limits.cautions import cautions_of_parts
from optimizer.models.check import OddPlace, OddSize, OddWay
from optimizer.models.curve import CurveRequest
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_gauge import gauge_report
from tests.optimizer.case_texts import GOOD_CASES
from tests.optimizer.command_line import CASES, printed, run
from tests.optimizer.gauging.typed import ANGLE, rows

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
TRUCK = CASES / "lifted-leaf-axle.toml"
TEXT = TRUCK.read_text(encoding="utf-8")
ACROSS = GOOD_CASES["leaf-axle"].read_text(encoding="utf-8")
BOTH_WAYS = pytest.mark.parametrize("text", [TEXT, ACROSS], ids=["along the car", "across it"])


@pytest.mark.parametrize(("block", "longer"), [(0.0, 0.0), (60.0, 0.0), (0.0, 30.0), (60.0, 30.0)])
def test_what_suggest_lists_and_curve_is_asked_for_is_one_setting(block, longer):
    case = read_case(TRUCK)
    choice = next(
        place
        for place, one in enumerate(case.linkage_choices)
        if (one.lift_block, one.shackle_longer) == (block, longer)
    )
    evaluator = Evaluator.of(case)
    toe = evaluator.toe(Settings.single(5.0, -40.0, choice), np.linspace(-50.0, 70.0, 13))[0]
    asked = CurveRequest(
        outer_drop=5.0, rack_raise=-40.0, lift_block=block, shackle_longer=longer, droop=50.0
    )
    found = curve(Vehicle((case,)), asked)
    np.testing.assert_allclose(
        found.wheels[0].toe_deg, np.degrees(toe), rtol=0, atol=ANGLE_ATOL_DEG
    )
    assert (found.setting.lift_block_mm, found.setting.shackle_longer_mm) == (block, longer)


@BOTH_WAYS
def test_the_cures_of_a_drag_link_do_what_they_say_whichever_way_it_runs(text):
    """Lowering and lengthening, as told, make slope and curvature smaller on the model."""
    strict = text.replace("tolerance_deg = 0.35", "tolerance_deg = 0.05")
    evaluator = Evaluator.of(case_from_toml(strict, "truck"))
    found = diagnosis(evaluator)
    assert found.height_cure is not None
    assert found.length_cure is not None
    away = evaluator.corner.inner - evaluator.corner.outer_seat
    away /= np.linalg.norm(away)
    lower = 1.0 if found.height_cure == "lower-outer" else -1.0
    longer = 1.0 if found.length_cure == "lengthen-rod" else -1.0
    still = np.zeros(3)
    tried = replace(
        Settings(np.zeros(3), np.zeros(3), np.zeros(3, dtype=np.intp)),
        outer_move=np.stack([still, -2.0 * lower * UP, still]),
        inner_move=np.stack([still, still, 5.0 * longer * away]),
    )
    figures = toe_curve(evaluator.travel, evaluator.toe_change(tried))
    assert abs(figures.slope[1]) < abs(figures.slope[0])
    assert abs(figures.curvature[2]) < abs(figures.curvature[0])


def test_a_drop_arm_that_is_no_copy_of_the_lift_can_make_it_worse(capsys):
    """From level on the spring's arc, 80 mm of drop arm steers more than none."""
    level = TEXT.replace("lowered_by = -60.0", "lowered_by = 0.0").replace(
        "522.0, 588.0]", "522.0, 528.0]"
    )
    assert level != TEXT
    vehicle = car_from_toml(level, "truck")
    left, dropped = (
        Evaluator.of(vehicle.case).toe_change(Settings.single(0.0, raised))
        for raised in (0.0, -80.0)
    )
    assert np.abs(dropped).max() > 3.0 * np.abs(left).max()


def test_a_sweep_with_other_shackles_and_blocks_is_of_the_same_truck(tmp_path):
    case, travel = read_case(TRUCK), np.arange(-55.0, 71.0, 12.5)
    made = []
    for place, one in enumerate(case.linkage_choices):
        toe = Evaluator.of(case).toe(Settings.single(0.0, -60.0, place), travel)[0]
        keys = f"lift_block = {one.lift_block}\nshackle_longer = {one.shackle_longer}\n"
        text = f"{ANGLE}outer_drop = 0.0\nrack_raise = -60.0\n{keys}"
        file = tmp_path / f"{place}.toml"
        file.write_text(
            text + rows(*zip(travel, np.round(np.degrees(toe), 3), strict=True)), encoding="utf-8"
        )
        made.append(read_readings(file))
    result = gauge(Vehicle((case,)), made)
    (wheel,) = result.wheels
    assert wheel.moved == []
    as_is = " ".join(gauge_report(gauge(Vehicle((case,)), made[:1]), ["truck"]).split())
    assert ", shackle longer by 30.0 mm, counted from" in as_is
    assert "lateral link" not in as_is
    assert wheel.next.shackle_longer_mm == 30.0
    assert wheel.next.peak_toe_change_deg == pytest.approx(0.289, abs=0.005)
    assert {(one.lift_block_mm, one.shackle_longer_mm) for one in result.swept} == {
        (one.lift_block, one.shackle_longer) for one in case.linkage_choices
    }


@pytest.mark.parametrize(
    ("key", "car"),
    [
        ("lift_block = 20.0", "lowered-strut"),
        ("shackle_longer = 20.0", "lifted-beam-axle"),
        ("frame_bracket_raise = 20.0", "lifted-leaf-axle"),
        ("ball_joint_drop = 20.0", "lifted-leaf-axle"),
        ("knuckle_plate = 20.0", "lifted-leaf-axle"),
    ],
)
def test_a_sweep_that_names_a_part_of_another_layout_is_refused(tmp_path, key, car):
    text = f"{ANGLE}outer_drop = 0.0\nrack_raise = 0.0\n{key}\n"
    file = tmp_path / "sweep.toml"
    file.write_text(text + rows((-40.0, 0.4), (0.0, 0.0), (40.0, -0.4)), encoding="utf-8")
    with pytest.raises(PivotwrightError, match=f"{key.split()[0]} must be left out"):
        gauge(Vehicle((read_case(CASES / f"{car}.toml"),)), [read_readings(file)])


def test_blocks_and_shackles_are_told_with_their_cautions_and_asked_for_by_name(capsys):
    case = read_case(TRUCK)
    said = printed(capsys, "curve", TRUCK, "--lift-block", 60, "--with", "block 60, shackle 30")
    assert "lift block 60.0 mm" in said
    assert "block 60, shackle 30" in said
    fitted = suggest(Vehicle((case,))).ranked[0].wheels[0]
    kinds = {one.kind for one in cautions_of_parts([fitted], {})}
    assert "shackle" in kinds
    blocked = fitted.model_copy(update={"lift_block_mm": 60.0})
    assert "lift-block" in {one.kind for one in cautions_of_parts([blocked], {})}
    assert "pitman ball 32.5 mm rearward" in printed(capsys, "suggest", TRUCK, "--verbose")


def test_a_block_is_refused_where_no_leaf_spring_is(capsys):
    assert run("curve", CASES / "lowered-strut.toml", "--lift-block", 20) == 2
    assert "lift block and longer shackle must be left out" in capsys.readouterr().err


def test_the_sheet_leaves_the_springs_in(capsys):
    said = printed(capsys, "sheet", TRUCK, "--text")
    assert "Leave the leaf springs in" in said
    assert "spring out" not in said.lower()


def test_the_spring_is_an_obstacle_that_moves_with_the_axle():
    """A rod laid along the spring touches it; the gap as measured is that of two straight bars."""
    text = TEXT.replace("[ -470.0,  522.0, 588.0]", "[ -470.0,  440.0, 505.0]")
    text = text.replace("[   31.0,  531.0, 470.0]", "[   31.0,  440.0, 490.0]")
    assert text.count("440.0") == 2
    first = suggest(car_from_toml(text, "truck"))
    assert not first.as_is.fits
    assert any(one.kind == "gap" for one in first.as_is.wheels[0].reasons)


def doubts(text: str) -> list[object]:
    return [one.message for one in check(car_from_toml(text, "truck")).wheels[0].doubts]


def test_odd_springs_are_doubted():
    assert doubts(TEXT) == []
    standing = TEXT.replace("lowered_by = -60.0", "lowered_by = 0.0")
    leaning = doubts(standing.replace("[  519.0,  421.0, 611.0]", "[  569.0,  421.0, 611.0]"))
    assert [one.kind for one in leaning if isinstance(one, OddPlace)] == ["leaning-shackle"]
    off = doubts(TEXT.replace("[    6.0,  428.0, 464.0]", "[  126.0,  428.0, 464.0]"))
    assert [one.kind for one in off if isinstance(one, OddSize)] == ["off-seat"]
    across = doubts(TEXT.replace("rack_axis   = [1.0, 0.0, 0.0]", "rack_axis = [0.0, 1.0, 0.0]"))
    assert [one.kind for one in across if isinstance(one, OddWay)] == ["drag-link"]


def test_the_starter_and_its_table_of_points_are_cars(tmp_path: Path, capsys):
    table = tmp_path / "points.csv"
    points = read_case(TRUCK).points.model_dump()
    names = {"shackle_frame": "shackle pin", "spring_seat": "center bolt"}
    table.write_text(
        "\n".join(f"{names.get(name, name)},{x},{y},{z}" for name, (x, y, z) in points.items()),
        encoding="utf-8",
    )
    assert run("new", "leaf-axle", "--points", table, "--axes", "forward,left,up") == 0
    made = case_from_toml(capsys.readouterr().out, "made")
    for name, point in points.items():
        np.testing.assert_allclose(getattr(made.points, name), point, rtol=0, atol=LENGTH_ATOL_MM)
