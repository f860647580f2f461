"""Lengths on the command line, and reports in inches: no unit is taken for the other."""

import argparse
import json
import re

import pytest

from optimizer.cli.lengths import heights, length
from optimizer.cli.main import main
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.starters import starter_case
from optimizer.models.points import POINTS_OF_LAYOUT
from tests.optimizer.command_line import CASES, STRUT, run

KIT_CAR = CASES / "kit-car-inches.toml"


@pytest.mark.parametrize(
    ("typed", "in_mm_case", "in_inch_case"),
    [
        ("0.375", 0.375, 9.525),
        ("0.375in", 9.525, 9.525),
        ("3/8in", 9.525, 9.525),
        ("-3/8 in", -9.525, -9.525),
        ("1 1/2in", 38.1, 38.1),
        ("1-1/2in", 38.1, 38.1),
        ("11/2in", 139.7, 139.7),
        ('3/8"', 9.525, 9.525),
        ("9.5mm", 9.5, 9.5),
        (".5in", 12.7, 12.7),
        ("2e1", 20.0, 508.0),
    ],
)
def test_a_length_is_in_the_case_s_unit_or_in_the_one_behind_it(typed, in_mm_case, in_inch_case):
    read = length(typed)
    assert read.mm("mm") == pytest.approx(in_mm_case, abs=1e-12)
    assert read.mm("in") == pytest.approx(in_inch_case, abs=1e-12)


@pytest.mark.parametrize("typed", ["", "in", "5cm", "3/0in", "1/2/3", "nan", "0x5", "5 5", "5,5"])
def test_what_is_no_length_is_refused(typed):
    with pytest.raises(argparse.ArgumentTypeError, match="must be a length such as"):
        length(typed)


@pytest.mark.parametrize("digits", [310, 4400])
@pytest.mark.parametrize("form", ["{}", "{}/8in", "1/{}", "{0}/{0}in", "{} 1/2in"])
def test_a_number_of_any_length_is_a_length_or_refused(capsys, form, digits):
    typed = form.format("9" * digits)
    code = run("curve", STRUT, "--with", f"drop {typed}")
    err = capsys.readouterr().err
    assert (code, err) == (0, "") if form == "1/{}" else (code, err.count("\n")) == (2, 1)


def test_a_unit_behind_the_last_height_is_that_of_all():
    assert heights("0:1:0.5in").mm("mm") == pytest.approx([0.0, 12.7, 25.4])
    assert heights("0:1:0.5").mm("in") == pytest.approx([0.0, 12.7, 25.4])
    assert heights("0:10:5").mm("mm") == [0.0, 5.0, 10.0]


def test_an_inch_case_takes_its_options_in_inches_and_says_what_it_took(capsys):
    assert run("curve", KIT_CAR, "--outer-drop", "0.375", "--json") == 0
    bare = json.loads(capsys.readouterr().out)
    assert run("curve", KIT_CAR, "--outer-drop", "9.525mm", "--json") == 0
    same = json.loads(capsys.readouterr().out)
    assert same["wheels"][0]["toe_deg"] == pytest.approx(bare["wheels"][0]["toe_deg"], abs=1e-9)
    assert bare["facts"]["setting"]["outer_drop_mm"] == pytest.approx(9.525)
    assert (
        bare["setting"] == "For 1/2 in lower than measured, outer drop 3/8 in, rack raise 0.000 in."
    )
    assert run("curve", KIT_CAR, "--outer-drop", "3/8") == 0
    assert bare["setting"] in capsys.readouterr().out
    assert run("curve", KIT_CAR, "--outer-drop", "600in") == 2  # 50 feet
    assert "--outer-drop: must be within" in capsys.readouterr().err
    assert run("reach", KIT_CAR, "--heights=0:1:0.5", "--json") in (0, 1)
    rows = json.loads(capsys.readouterr().out)["heights"]
    assert [row["lowered_by_mm"] for row in rows] == pytest.approx([0.0, 12.7, 25.4])
    assert run("sheet", KIT_CAR, "--outer-drop", "1/4in", "--text") == 0
    assert "Fitted: outer drop 0.25 in, rack raise 0 in" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["suggest", "reach", "curve", "check", "sheet"])
def test_a_report_in_inches_reads_as_one(capsys, tmp_path, command):
    with_13_mm = KIT_CAR.read_text(encoding="utf-8").replace(
        "shims = [", "shims = [\n    { thickness = 0.5118110236, count = 1 },", 1
    )
    case = tmp_path / "car.toml"
    case.write_text(with_13_mm, encoding="utf-8")
    run(command, case, *(["--text"] if command == "sheet" else []))
    text = capsys.readouterr().out
    assert text
    for ugly in (r"\d\.\d{6,}", r"\bin in at\b", r"0\.01 deg", r"\bMPa(?! or [\d,]+ psi)"):
        assert not re.search(ugly, text), ugly


@pytest.mark.parametrize("layout", POINTS_OF_LAYOUT)
def test_a_starter_in_inches_is_the_same_car(capsys, layout):
    assert main(["new", layout, "--units", "in"]) == 0
    text = capsys.readouterr().out
    metric = starter_case(layout)
    assert text.count("\n") == metric.count("\n")
    inches, mm = case_from_toml(text, "in"), case_from_toml(metric, "mm")
    assert (inches.units, inches.layout) == ("in", layout)
    for name, point in mm.points.model_dump().items():
        # Written to a hundredth of an inch.
        assert getattr(inches.points, name) == pytest.approx(point, abs=0.13)
    assert inches.wheel.toe_deg == mm.wheel.toe_deg
    assert inches.ride.bump == pytest.approx(mm.ride.bump, abs=0.13)


def test_optional_lines_of_a_starter_in_inches_are_in_inches_too(capsys):
    assert main(["new", "double-wishbone", "--units", "in"]) == 0
    lines = capsys.readouterr().out.splitlines()
    (wheelbase,) = (float(x.split("=")[1]) for x in lines if x.startswith("#wheelbase"))
    assert wheelbase == pytest.approx(2450.0 / 25.4, abs=0.01)
    assert any("{ thickness = 0.125, count = 3 }" in line for line in lines)
    assert any(line.startswith("#rack_axis = [0.0, 1.0, 0.0]") for line in lines)


def test_a_table_of_points_becomes_a_case_in_inches(capsys, tmp_path):
    points = read_case(STRUT).points.model_dump()
    table = tmp_path / "points.csv"
    rows = [",".join([name, *(f"{x / 25.4:.4f}" for x in point)]) for name, point in points.items()]
    table.write_text("\n".join(rows), encoding="utf-8")
    assert main(["new", "strut", "--points", str(table), "--units", "in"]) == 0
    case = case_from_toml(capsys.readouterr().out, "in")
    assert case.units == "in"
    for name, point in points.items():
        assert getattr(case.points, name) == pytest.approx(point, abs=0.002)


@pytest.mark.parametrize(("car", "typed", "meant"), [(STRUT, "in", "mm"), (KIT_CAR, "mm", "in")])
def test_units_that_look_mistaken_are_asked_about_in_one_line(capsys, tmp_path, car, typed, meant):
    case = tmp_path / "car.toml"
    text, times = re.subn(r'(?m)^units *= *"(mm|in)"', f'units = "{typed}"', car.read_text("utf-8"))
    assert times == 1
    case.write_text(text, encoding="utf-8")
    assert run("check", case) == 2
    err = capsys.readouterr().err
    assert "has 1 fault:" in err
    assert f'units  must be "{meant}", it seems, got "{typed}"' in err


@pytest.mark.parametrize(
    ("command", "option", "value"),
    [
        ("curve", "--outer-drop", "9.5"),
        ("sheet", "--outer-drop", "9.5"),
        ("curve", "--rack-raise", "-6"),
        ("curve", "--lowered-by", "25"),
        ("curve", "--bump", "50"),
        ("curve", "--step", "10"),
    ],
)
def test_a_bare_number_that_may_well_be_millimeters_must_say_its_unit(
    command, option, value, capsys
):
    assert run(command, KIT_CAR, f"{option}={value}") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{option}: a bare {value} is {value} inches here; write {value}mm or {value}in" in err


def test_a_unit_written_behind_a_large_number_is_believed(capsys):
    assert run("curve", KIT_CAR, "--outer-drop", "9.5mm") == 0
    assert "outer drop 9.5 mm" in capsys.readouterr().out
    assert run("curve", KIT_CAR, "--lowered-by", "0.5", "--outer-drop", "4in") == 0


def test_heights_in_millimeters_beside_an_inch_case_get_a_hint(capsys):
    assert run("reach", KIT_CAR, "--heights", "0:25:5") == 2
    assert "a bare number is inches here, write A:B:STEPmm" in capsys.readouterr().err
