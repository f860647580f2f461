"""Slips of someone who types their first files: each answer names the thing to try next."""

import re
import tomllib
from importlib.resources import files

import pytest

from optimizer.answers.check import check
from optimizer.errors import CaseFileError
from optimizer.files.case_file import car_from_toml, read_car
from optimizer.files.in_inches import in_inches
from optimizer.files.kits import read_kits
from optimizer.files.readings_file import read_readings
from optimizer.files.starters import starter_case
from optimizer.files.toml_file import slip_hint
from optimizer.reports import terminal_parts
from optimizer.reports.pages import plot
from optimizer.units import MM_PER
from optimizer.wording.check import doubts_in_words, figures_in_words
from optimizer.wording.reader import Reader
from tests.optimizer.command_line import CASES, STRUT, run
from tests.optimizer.wording.readers import INCHES, MM

TEXT = starter_case("double-wishbone")
RIDE = "[ride]\nlowered_by"
OUTER = "tie_rod_outer    = [ 120.0, 660.0, 208.0]"


def refusal(text: str) -> str:
    with pytest.raises(CaseFileError, match="typed") as refused:
        car_from_toml(text, "typed")
    return str(refused.value)


def edited(*changes: tuple[str, str]) -> str:
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text


@pytest.mark.parametrize(
    ("header", "first"),
    [
        ("points", "lower_arm_front"),
        ("wheel", "toe_deg"),
        ("ride", "lowered_by"),
        ("outer_pivot", "stack"),
    ],
)
def test_a_header_that_was_lost_is_one_fault_that_says_where_it_goes(header, first):
    said = refusal(edited((f"\n[{header}]", "\n#")))
    assert "has 1 fault:" in said
    assert f"write [{header}] on a line of its own above {first})" in said


def test_a_header_that_both_wheels_share_is_missed_too(both_sides_text):
    said = refusal(both_sides_text.replace("\n[steering]", "\n#"))
    assert "has 1 fault:" in said
    assert "write [steering] on a line of its own above rack_travel" in said


def test_a_line_made_live_without_its_header_says_which_one():
    said = refusal(edited(("#rack_travel", "rack_travel")))
    assert "write [steering] on a line of its own above rack_travel" in said


def test_a_key_under_the_wrong_header_is_told_where_it_belongs():
    said = refusal(edited(("toe_deg = 0.1", "toe_deg = 0.1\nbump = 40.0")))
    assert "wheel.bump  belongs under the header [ride]" in said


@pytest.mark.parametrize(
    ("old", "new", "hint"),
    [
        (
            OUTER,
            "tie_rod_outer = [4 3/4, 26.0, 8.2]",
            "a fraction is written in decimals: 4 3/4 as 4.75",
        ),
        (OUTER, "tie_rod_outer = (120.0, 660.0, 208.0)", "square brackets: [x, y, z]"),
        (OUTER, 'tie_rod_outer = ["4 3/4", "26", "8"]', "in decimals and without quotes: 4.75"),
        (OUTER, "tie_rod_outer = [120,5, 660,5, 208,5]", "decimals take a point, not a comma"),
        ("lowered_by = 0.0", "lowered_by = 20,05", "decimals take a point, not a comma"),
        ("lowered_by = 0.0", "lowered_by = .5", "a number begins with a digit: .5 as 0.5"),
        ("lowered_by = 0.0", "lowered_by = 20mm", "numbers stand without a unit"),
        ("lowered_by = 0.0", 'lowered_by = "5/8"', "in decimals and without quotes: 0.625"),
        ('"double-wishbone"', "double-wishbone", 'text stands in quotes: "double-wishbone"'),
        ('"double-wishbone"', "\u201cdouble-wishbone\u201d", "quotes must be the straight ones"),
        ("#[car] ", "[wheel] ", "the header [wheel] stands twice"),
    ],
)
def test_a_slip_of_the_pen_is_answered_with_how_it_is_written(old, new, hint):
    assert hint in refusal(edited((old, new)))


def test_what_is_no_slip_that_is_known_gets_no_hint():
    assert slip_hint("lowered_by =", "Invalid value") == ""
    assert slip_hint('name = "5/8 of a car', "Illegal character") == ""


@pytest.mark.parametrize(
    ("read", "path", "said"),
    [
        (read_car, "readings/lowered-strut.toml", "is a readings file; write: pivotwright gauge"),
        (read_car, "kits.toml", "is a kits file; name a case, and this file after --kits"),
        (read_kits, "track-wishbone.toml", "is a case file; --kits names a file of kits"),
        (read_kits, "readings/lowered-strut.toml", "is a readings file; write: pivotwright gauge"),
        (read_readings, "kits.toml", "is a kits file; name a case, and this file after --kits"),
    ],
)
def test_a_file_of_another_kind_is_named_for_what_it_is(read, path, said):
    with pytest.raises(CaseFileError, match=said) as refused:
        read(CASES / path)
    assert len(refused.value.faults) == 1


# --- starters in inches


def test_a_starter_in_inches_counts_work_as_the_one_in_millimeters_does():
    line = "#rack = 4.0  "
    assert line in TEXT
    assert line in in_inches(TEXT)


def test_a_starter_in_inches_keeps_its_comments_where_they_were():
    moved = [
        inches
        for metric, inches in zip(TEXT.splitlines(), in_inches(TEXT).splitlines(), strict=True)
        if metric != inches and metric.rfind(" # ") != inches.rfind(" # ")
    ]
    no_room = {"#outer", "#tie_rod_outer", "#thread", "#spacers", "#fore_aft"}
    assert {line.partition(" =")[0] for line in moved} == no_room


def test_a_starter_in_inches_speaks_of_no_millimeters():
    text = in_inches(TEXT)
    assert "illimeter" not in text
    assert " mm." not in text
    tomllib.loads(text)


# --- what check doubts


def doubts_of(text: str) -> list[str]:
    result = check(car_from_toml(text, "typed"))
    return doubts_in_words(result, Reader(result.subject))


def test_a_diameter_in_the_place_of_the_radius_is_doubted():
    (said,) = (
        one
        for one in doubts_of(edited(("tire_radius = 288.0", "tire_radius = 576.0")))
        if "radius" in one
    )
    assert said.startswith("wheel.tire_radius: is 576.0 mm, about twice")
    assert said.endswith("is it the diameter?")


def test_a_shim_thicker_than_any_stack_is_doubted():
    assert not any("shims" in one for one in doubts_of(TEXT))
    said = doubts_of(edited(("thickness = 3.0", "thickness = 76.2")))
    assert any(one.startswith("shelf.shims[2].thickness: is 76.2 mm, more than") for one in said)


@pytest.mark.parametrize(
    ("typed", "stands"),
    [
        ("0.0", "as high as measured"),
        ("25.0", "25.0 mm lower than measured"),
        ("-25.0", "25.0 mm higher than measured"),
    ],
)
def test_check_says_where_the_car_will_stand(typed, stands):
    result = check(car_from_toml(edited(("lowered_by = 0.0", f"lowered_by = {typed}")), "typed"))
    figures = figures_in_words(result.wheels[0].figures, Reader(result.subject))
    assert figures["ride height"] == stands


# --- the command line


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["new", "wishbone"], 'got "wishbone"; did you mean double-wishbone?'),
        (["new", "doublewishbone"], "did you mean double-wishbone?"),
        (["new", "double", "wishbone"], 'got "double"'),
        (["new", "kit"], "did you mean kits?"),
        (["new", "gearbox"], "new: must be strut or double-wishbone"),
        (["new"], "required: WHAT, a layout such as strut or double-wishbone"),
        (["suggest"], "CASE, a case file (`pivotwright new strut > my-car.toml` starts one)"),
    ],
)
def test_a_slip_on_the_command_line_is_answered_with_what_to_type(capsys, arguments, said):
    assert run(*arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


@pytest.mark.parametrize("typed", ["-3", "-3mm", "-1/8in"])
def test_a_length_below_0_may_stand_apart_from_its_option(capsys, typed):
    assert run("curve", STRUT, "--rack-raise", typed, "--json") == 0
    apart = capsys.readouterr().out
    assert run("curve", STRUT, f"--rack-raise={typed}", "--json") == 0
    assert capsys.readouterr().out == apart


def test_gauge_says_that_it_wrote_the_corrected_case(capsys, tmp_path):
    written = tmp_path / "corrected.toml"
    readings = CASES / "readings" / "lowered-strut.toml"
    assert run("gauge", STRUT, readings, "--quiet", "--write", written) == 1
    assert f"Written: {written}" in capsys.readouterr().err
    assert written.exists()


# --- numbers that are to be fitted


@pytest.mark.parametrize(
    ("units", "parts", "written"),
    [
        ("in", [0.4375, 0.5], ["0.4375", "0.5000"]),
        ("in", [0.25, 0.5], ["0.250", "0.500"]),
        ("in", [1 / 32, 0.0], ["0.03125", "0.00000"]),
        ("in", [0.4375, 13.0 / 25.4], ["0.4375", "0.5118"]),
        ("mm", [0.25, 3.0], ["0.25", "3.00"]),
        ("mm", [1.5, 3.0], ["1.5", "3.0"]),
    ],
)
def test_no_size_of_a_shim_is_rounded_away_in_a_column(units, parts, written):
    reader = {"mm": MM, "in": INCHES}[units]
    assert reader.sizes([part * MM_PER[units] for part in parts]) == written


def test_a_lowered_rack_is_told_in_the_fractions_of_a_raised_one():
    reader = INCHES
    assert reader.fitted(3.175) == "1/8 in"
    assert reader.fitted(-3.175) == "-1/8 in"


def test_no_number_of_the_ranking_is_cut_short_by_a_narrow_terminal(capsys, monkeypatch):
    monkeypatch.setattr(terminal_parts, "WIDTH", 64)
    assert run("suggest", CASES / "track-wishbone.toml", "--kits", CASES / "kits.toml") in (0, 1)
    assert "\u2026" not in capsys.readouterr().out


def test_no_style_of_a_drawing_takes_hold_of_the_box_around_it():
    templates = files("optimizer.reports.pages") / "templates"
    boxes = {one.name.partition(".")[0] for one in templates.iterdir() if one.name.endswith("svg")}
    styled = re.findall(r"(?m)^\.([\w-]+)", (templates / "drawing.css").read_text("utf-8"))
    assert len(styled) > 20
    assert boxes.isdisjoint(styled)


def test_a_png_that_nothing_can_draw_is_refused_before_the_work(capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(plot, "find_spec", lambda _: None)
    assert run("suggest", STRUT, "--plot", tmp_path / "toe.png") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "a PNG needs one package more" in err
