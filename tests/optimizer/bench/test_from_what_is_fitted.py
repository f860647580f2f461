"""What is to be fitted counts from what the car has now: nothing that comes off goes unsaid."""

import re

import pytest

from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import CASES, answer_of, printed, run

STRUT, BEAM = CASES / "lowered-strut.toml", CASES / "lifted-beam-axle.toml"
EXTENDED = CASES / "extended-strut.toml"


def first_of(capsys, path):
    run("suggest", path, "--json")
    return answer_of(SuggestResult, capsys.readouterr().out).first.wheels[0]


@pytest.mark.parametrize(
    ("listed", "told"),
    [
        ("[20.0, 0.0]", "take off knuckle plate 20.0 mm"),
        ("[20.0]", ""),
        ("[20.0, 8.0]", "change knuckle plate to 8.0 mm"),
    ],
)
def test_a_plate_that_is_on_the_car_is_taken_off_changed_or_left(capsys, tmp_path, listed, told):
    path = tmp_path / "car.toml"
    path.write_text(f"{STRUT.read_text('utf-8')}\n[knuckle_plate]\nthickness = {listed}\n")
    first, said = first_of(capsys, path), printed(capsys, "suggest", path, "--quiet")
    changed = first.knuckle_plate_mm != 20.0
    assert ("knuckle plate" in said) == changed
    if changed:
        assert told in said
        assert told in printed(capsys, "sheet", path, "--text")


def test_brackets_are_moved_from_where_the_car_has_them(capsys, tmp_path):
    text = BEAM.read_text(encoding="utf-8")
    path = tmp_path / "car.toml"
    path.write_text(text.replace("frame_bracket = [0.0, -40.0]", "frame_bracket = [-30.0, -40.0]"))
    assert first_of(capsys, path).frame_bracket_raise_mm == -40.0
    assert "lower lateral link's frame bracket 10.0 mm" in printed(capsys, "suggest", path)


@pytest.mark.parametrize(
    ("drops", "told"),
    [
        ("[60.0, 30.0]", "lower ball joint 30.0 mm down"),
        ("[60.0, 0.0]", "lower ball joint back to standard"),
        ("[30.0]", ""),
    ],
)
def test_an_extension_is_named_wherever_a_setting_is(capsys, tmp_path, drops, told):
    path, page = tmp_path / "car.toml", tmp_path / "page.html"
    text, count = re.subn(r"(?m)^drop *= *.*$", f"drop = {drops}", EXTENDED.read_text("utf-8"))
    assert count == 1
    path.write_text(text, encoding="utf-8")
    first = first_of(capsys, path)
    said = printed(capsys, "suggest", path, "--verbose", "--page", page)
    drawn = page.read_text(encoding="utf-8")
    if told:
        assert first.ball_joint_drop_mm == float(drops.strip("[]").split(",")[1])
        assert said.count(told) > 1
        assert told in drawn
    else:
        assert "mm down" not in said
        assert "back to standard" not in said
    assert "An extended lower ball joint carries the wheel" in said  # fitted, or taken off
