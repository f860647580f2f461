"""A stud that points up, down or level: the words follow the pivot, not the sign of the stack."""

import re

import pytest

from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import STRUT, WISHBONE, answer_of, changed, printed, run

OUTER = r"^tie_rod_outer *= \[-130.0, 705.0, 205.0\]"
LOW_SEAT = "tie_rod_outer = [-130.0, 705.0, 180.0]"  # so that the pivot has to go up
STACK = r"^stack = .*"
UP = "stack = { min = 0.0, max = 30.0, step = 0.5 }\nstud_axis = [0.0, 0.0, 1.0]"
DOWN = "stack = { min = -30.0, max = 0.0, step = 0.5 }"
SWEEP = """
format = 1
units = "mm"
kind = "angle"
reading_grows = "toe-in"
outer_drop = {drop}
rack_raise = 2.0
readings = [[40.0, 0.2], [20.0, 0.1], [0.0, 0.0], [-20.0, -0.1], [-40.0, -0.2]]
"""


@pytest.fixture
def cars(tmp_path):
    made = {}
    for name, stack in (("up", UP), ("down", DOWN)):
        text = re.sub(OUTER, LOW_SEAT, changed(WISHBONE, STACK, stack), flags=re.M)
        made[name] = tmp_path / name
        made[name].mkdir()
        made[name] /= "car.toml"
        made[name].write_text(text, encoding="utf-8")
    return made


def test_a_stack_on_a_stud_that_points_up_is_the_same_car_counted_the_other_way(capsys, cars):
    found = []
    for car in cars.values():
        run("suggest", car, "--json")
        found.append(answer_of(SuggestResult, capsys.readouterr().out))
    up, down = (
        [(row.wheels[0].outer_drop_mm, row.peak_toe_change_deg) for row in one.ranked]
        for one in found
    )
    assert up == [(-drop, pytest.approx(peak)) for drop, peak in down]
    assert [one.subject.stud for one in found] == ["up", "down"]


@pytest.mark.parametrize("command", ["suggest", "sheet"])
def test_both_are_told_to_raise_the_pivot(capsys, cars, command):
    text = ["--text"] if command == "sheet" else []
    for car in cars.values():
        said = printed(capsys, command, car, *text)
        assert re.search(r"raise outer 1\d\.\d mm", said, flags=re.I)
        assert "drop outer" not in said
        if command == "suggest":
            assert "the joint over the arm" in said


def test_a_gauge_says_which_way_the_pivot_goes_from_what_is_fitted(capsys, cars, tmp_path):
    said = {}
    for name, sign in (("up", 1.0), ("down", -1.0)):
        sweep = tmp_path / f"{name}.toml"
        sweep.write_text(SWEEP.format(drop=sign * 25.0), encoding="utf-8")
        said[name] = printed(capsys, "gauge", cars[name], sweep)
    for text in said.values():
        assert "swept with raise 25 mm" in text
        assert re.search(r"Fit outer raise \d+\.\d mm", text)
        assert re.search(r"outer pivot \d+\.\d mm higher", text)


def test_a_stack_along_a_level_stud_goes_neither_up_nor_down(capsys, tmp_path):
    car = tmp_path / "car.toml"
    text = changed(STRUT, r"^\[outer_pivot\]", "[outer_pivot]\nstud_axis = [0.0, 1.0, 0.0]")
    car.write_text(text, encoding="utf-8")
    said = printed(capsys, "curve", car, "--outer-drop", 5)
    assert "outer move 5.0 mm" in said
    sheet = printed(capsys, "sheet", car, "--outer-drop", 5, "--text")
    assert "drop" not in sheet.replace("outer-drop", "")
