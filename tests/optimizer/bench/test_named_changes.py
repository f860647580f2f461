"""Rack fore and aft, knuckle plate and crossmember spacer, told wherever a setting is told.

The cars are invented; that these parts move the wheel as they do is shown in `test_spaced_parts.py`
and `tests/optimizer/test_rack_fore_aft.py`.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.answers.reach import reach
from optimizer.answers.spaced_compared import spaced_compared
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml
from optimizer.gauging.loop import gauge
from optimizer.limits.cautions import cautions_of_parts
from optimizer.models.curve import CurveRequest
from optimizer.models.readings import Readings
from optimizer.models.setting import Fitted
from optimizer.models.vehicle import Vehicle
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.command_line import printed
from tests.optimizer.gauging.sweeps import readings as sweep

ANGLE_ATOL_DEG = 1e-9
WISHED_ATOL_DEG = 1e-6  # how near an alignment comes to what is wanted
STRUT = Path("cases/lowered-strut.toml").read_text()
PARTS = "[knuckle_plate]\nthickness = [0.0, 30.0]\n[crossmember]\nspacer = [0.0, 10.0]\n"
# Nothing but spacers that are far too tall, and no stack: the car is best left as it is.
TOO_TALL = STRUT.replace("[-6.0, -3.0, 0.0, 3.0, 6.0]", "[0.0, 15.0]").replace(
    "max = 20.0", "max = 0.4"
)


def strut(more: str = "") -> Vehicle:
    return car_from_toml(STRUT.replace("[rack]\n", f"{more}[rack]\n"), "strut")


def readings(**said: float) -> Readings:
    rows = [[50.0, -0.6], [25.0, -0.3], [0.0, 0.0], [-30.0, 0.3], [-60.0, 0.6]]
    return sweep("angle", rows, reading_grows=None, total=None, **said)


def test_side_effects_are_told_of_the_next_setting_where_leaving_it_wins(tmp_path, capsys):
    path = tmp_path / "strut.toml"
    path.write_text(TOO_TALL)
    answer = suggest(car_from_toml(TOO_TALL, "strut"))
    assert answer.ranked[0].is_as_is
    assert answer.ranked[1].fits
    assert answer.side_effects_of == 2
    (wheel,) = answer.wheels
    rod = wheel.side_effects.rod_angle_deg
    assert rod.after != pytest.approx(rod.before, abs=0.1)
    page = tmp_path / "page.html"
    text = printed(capsys, "suggest", str(path), "--verbose", "--page", str(page))
    assert "What else it changes now number 2" in text
    assert "number 2</th>" in page.read_text()


def test_side_effects_are_those_of_number_1_where_that_changes_something():
    answer = suggest(strut())
    assert answer.side_effects_of == 1
    (wheel,) = answer.wheels
    assert wheel.side_effects.steer_rate_change_percent == pytest.approx(
        answer.ranked[0].wheels[0].steer_rate_change_percent
    )


def test_a_sweep_says_which_plate_and_spacer_were_fitted(tmp_path, capsys):
    case, sweep = tmp_path / "strut.toml", tmp_path / "sweep.toml"
    case.write_text(STRUT.replace("[rack]\n", f"{PARTS}[rack]\nfore_aft = [0.0, 8.0]\n"))
    said = "knuckle_plate = 30.0\ncrossmember_spacer = 10.0\nrack_fore_aft = 8.0\n"
    known = Path("cases/readings/lowered-strut.toml").read_text()
    sweep.write_text(known.replace("rack_raise = 0.0\n", f"rack_raise = 0.0\n{said}"))
    text = printed(capsys, "gauge", "--verbose", str(case), str(sweep))
    assert "knuckle plate 30 mm, crossmember spacer 10 mm fitted" in text


@pytest.mark.parametrize(("forward", "words"), [(8.0, "8 mm forward"), (-8.0, "8 mm rearward")])
def test_a_sweep_says_which_way_the_rack_had_been_moved(forward, words):
    answer = gauge(None, [readings(rack_fore_aft=forward)])
    assert f"rack {words} fitted" in sentence(answer.swept[0], Reader(answer.subject))


@pytest.mark.parametrize(("key", "change"), [("knuckle_plate", 30.0), ("crossmember_spacer", 10.0)])
def test_what_was_fitted_is_the_car_that_the_readings_correct(key, change):
    """The readings are those of the car with the part: only then do its points stay."""
    vehicle = strut(PARTS)
    there = curve(vehicle, CurveRequest(**{key: change})).wheels[0]
    rows = [[x, y] for x, y in zip(there.travel_mm, there.toe_deg, strict=True)]
    with_it = gauge(vehicle, [readings(readings=rows, **{key: change})]).wheels[0]
    without = gauge(vehicle, [readings(readings=rows)]).wheels[0]
    assert with_it.moved == []
    assert without.moved != []


def test_a_change_from_what_is_fitted_now_names_every_part(tmp_path, capsys):
    parts = "[knuckle_plate]\nthickness = [0.0]\n[crossmember]\nspacer = [0.0]\n"
    vehicle = strut(parts)
    there = curve(vehicle, CurveRequest(knuckle_plate=30.0, rack_fore_aft=8.0)).wheels[0]
    rows = [[x, y] for x, y in zip(there.travel_mm, there.toe_deg, strict=True)]
    said = {"knuckle_plate": 30.0, "rack_fore_aft": 8.0, "crossmember_spacer": 0.0}
    (wheel,) = gauge(vehicle, [readings(readings=rows, **said)]).wheels
    assert wheel.next is not None
    assert wheel.next.rack_fore_aft_change_mm == wheel.next.rack_fore_aft_mm - 8.0
    assert wheel.next.knuckle_plate_change_mm == wheel.next.knuckle_plate_mm - 30.0
    case, sweep = tmp_path / "strut.toml", tmp_path / "sweep.toml"
    case.write_text(STRUT.replace("[rack]\n", f"{parts}[rack]\n"))
    typed = "".join(f"{key} = {value}\n" for key, value in said.items())
    sweep.write_text(
        'format = 1\nunits = "mm"\nkind = "angle"\nouter_drop = 0.0\nrack_raise = 0.0\n'
        f"{typed}readings = {rows}\n"
    )
    text = printed(capsys, "gauge", "--verbose", str(case), str(sweep))
    assert "rack 8.0 mm farther rearward" in text


def test_a_sweep_of_links_names_no_plate():
    links = car_from_toml(Path("cases/five-link-front.toml").read_text(), "links")
    with pytest.raises(PivotwrightError, match="knuckle_plate"):
        gauge(links, [readings(knuckle_plate=30.0)])


@pytest.mark.parametrize(
    ("key", "table"), [("knuckle_plate", "thickness"), ("crossmember_spacer", "spacer")]
)
def test_curve_shows_a_plate_or_a_spacer_as_a_case_that_has_it(key, table, tmp_path, capsys):
    name = key.removesuffix("_spacer")
    path = tmp_path / "strut.toml"
    path.write_text(STRUT)
    option = f"--{key.replace('_', '-')}"
    assert main(["curve", str(path), option, "12", "--json"]) == 0
    asked = json.loads(capsys.readouterr().out)["wheels"][0]["toe_deg"]
    listed = curve(strut(f"[{name}]\n{table} = 12.0\n")).wheels[0].toe_deg
    assert asked == pytest.approx(listed, abs=ANGLE_ATOL_DEG)
    assert asked != pytest.approx(curve(strut()).wheels[0].toe_deg, abs=1e-4)
    part = key.replace("_", " ")
    assert f"{part} 12.0 mm" in printed(capsys, "curve", str(path), option, "12")


def test_curve_fits_no_plate_where_no_lower_arm_is(capsys):
    assert main(["curve", "cases/five-link-front.toml", "--knuckle-plate", "12"]) == 2
    assert "no lower ball joint" in capsys.readouterr().err


def fitted(**moved: float) -> Fitted:
    still: dict[str, Any] = {
        "side": "left",
        "outer_drop_mm": 0.0,
        "stack_mm": [],
        "rack_raise_mm": 0.0,
        "ball_joint_drop_mm": 0.0,
    }
    return Fitted(**still | moved)


def test_a_rack_moved_fore_and_aft_alone_has_a_caution_of_its_own():
    reader = Reader(suggest(strut()).subject)
    ahead = [sentence(x, reader) for x in cautions_of_parts([fitted(rack_fore_aft_mm=8.0)], {})]
    above = [sentence(x, reader) for x in cautions_of_parts([fitted(rack_raise_mm=8.0)], {})]
    assert any(x.startswith("Moving the rack forward or rearward") for x in ahead)
    assert not any(x.startswith("Raising or lowering the rack") for x in ahead)
    assert not any(x.startswith("Moving the rack forward") for x in above)


@pytest.mark.parametrize("rack", ["true", "false"])
def test_each_plate_and_spacer_takes_an_alignment_of_its_own(rack):
    parts = f"{PARTS}carries_rack = {rack}\n"
    wish = '[alignment]\nby = "strut-top"\ncamber_deg = -2.0\ncaster_deg = 4.0\n'
    answer = suggest(strut(parts + wish))
    assert {(row.knuckle_plate_mm, row.crossmember_spacer_mm) for row in answer.ranked} & {
        (30.0, 0.0),
        (0.0, 10.0),
        (30.0, 10.0),
    }
    for plate in (0.0, 30.0):
        for spacer in (0.0, 10.0):
            asked = CurveRequest(knuckle_plate=plate, crossmember_spacer=spacer)
            (wheel,) = curve(strut(parts + wish), asked).wheels
            home = int(np.argmin(np.abs(wheel.travel_mm)))
            assert wheel.camber_deg[home] == pytest.approx(-2.0, abs=WISHED_ATOL_DEG)
            assert wheel.caster_deg[home] == pytest.approx(4.0, abs=WISHED_ATOL_DEG)


@pytest.mark.parametrize("layout", ["strut", "double-wishbone"])
def test_a_starter_shows_the_parts_and_reads_with_them_fitted(layout):
    starter = Path(f"optimizer/files/starters/{layout}.toml").read_text()
    keys = ("[rack]", "fore_aft", "[knuckle_plate]", "thickness", "[crossmember]", "spacer =")
    lines = [
        line.removeprefix("#") if line.startswith(tuple(f"#{key}" for key in keys)) else line
        for line in starter.splitlines()
    ]
    case = car_from_toml("\n".join(lines), layout).case
    assert case.rack.fore_aft == (-5.0, 0.0, 5.0)
    assert case.knuckle_plate.thickness == (0.0, 30.0)
    assert case.crossmember.spacer == (0.0, 10.0)


def test_plate_and_spacer_stand_side_by_side_each_as_a_car_that_has_it(tmp_path, capsys):
    (wheel,) = suggest(strut(PARTS)).wheels
    found = [(one.knuckle_plate_mm, one.crossmember_spacer_mm) for one in wheel.spaced_parts]
    assert found == [(0.0, 0.0), (0.0, 10.0), (30.0, 0.0)]
    for one in wheel.spaced_parts:
        listed = strut(
            f"[knuckle_plate]\nthickness = {one.knuckle_plate_mm}\n"
            f"[crossmember]\nspacer = {one.crossmember_spacer_mm}\n"
        )
        answer = suggest(listed)
        there = answer.as_is.wheels[0]
        effects = answer.wheels[0].side_effects
        assert one.arm_angle_deg == pytest.approx(effects.arm_angle_deg.before, abs=ANGLE_ATOL_DEG)
        assert one.roll_center_height_mm == pytest.approx(
            effects.roll_center_height_mm.before, abs=1e-6
        )
        assert one.peak_toe_change_deg == pytest.approx(
            there.peak_toe_change_deg, abs=ANGLE_ATOL_DEG
        )
        assert one.tie_rod_length_change_mm == pytest.approx(
            there.tie_rod_length_change_mm, abs=1e-9
        )
        assert answer.wheels[0].spaced_parts == []
    path = tmp_path / "strut.toml"
    path.write_text(STRUT.replace("[rack]\n", f"{PARTS}[rack]\n"))
    assert "Plate and spacer side by side" in printed(capsys, "suggest", "--verbose", str(path))


@pytest.mark.parametrize("name", ["lowered-strut", "lifted-beam-axle"])
def test_nothing_stands_side_by_side_where_no_plate_and_no_spacer_is_listed(name):
    vehicle = car_from_toml(Path(f"cases/{name}.toml").read_text(), name)
    assert all(spaced_compared(case) == [] for case in vehicle.wheels)


# Whatever is fitted, it is no stack and no raised rack; the widest tolerance lets it be told.
MOVED_OTHERWISE = (
    STRUT.replace("[-6.0, -3.0, 0.0, 3.0, 6.0]", "[0.0]\nfore_aft = [0.0, 8.0]")
    .replace("max = 20.0", "max = 0.4")
    .replace("[rack]\n", "[knuckle_plate]\nthickness = [0.0, 4.0]\n[rack]\n")
    .replace("tolerance_deg = 0.05", "tolerance_deg = 2.0")
)


def test_reach_warns_of_every_part_that_meets_a_height_not_of_stacks_and_raises_alone():
    met = reach(car_from_toml(MOVED_OTHERWISE, "strut"), [20.0])
    (wheel,) = met.heights[0].wheels
    assert met.heights[0].reachable
    assert (wheel.outer_drop_mm, wheel.rack_raise_mm) == (0.0, 0.0)
    asked = {
        "inner-shifted": bool(wheel.rack_fore_aft_mm),
        "spaced-part": bool(wheel.knuckle_plate_mm),
    }
    assert any(asked.values())
    kinds = [one.kind for one in met.cautions]
    assert {kind: kind in kinds for kind in asked} == asked
    assert kinds[-3:] == ["reset-toe", "no-heating", "judgement"]


def test_the_short_ranking_tells_settings_apart_that_differ_in_such_a_part_alone(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text(MOVED_OTHERWISE)
    short = printed(capsys, "suggest", str(path))
    assert "rack knuckle" in short
    assert "forward plate" in short


def test_what_is_drawn_is_what_is_ranked():
    answer = suggest(car_from_toml(MOVED_OTHERWISE, "strut"), plan=SuggestPlan(pictures=True))
    drawn = [one.fitted for one in answer.wheels[0].pictures.curves if one.rank is not None]
    shown = [row.wheels[0] for row in answer.ranked[: len(drawn)]]
    assert drawn == [
        Fitted(**{name: getattr(one, name) for name in Fitted.model_fields}) for one in shown
    ]
    assert any(one.rack_fore_aft_mm for one in drawn)
