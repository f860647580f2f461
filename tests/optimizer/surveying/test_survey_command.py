"""`pivotwright survey` as a mechanic runs it: files in, points, a case, a plan and a page out."""

import json
import re
import tomllib
from typing import get_args
from xml.etree import ElementTree

import jsonschema
import numpy as np
import pytest

from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import read_case
from optimizer.files.starters import SURVEY, starter, starter_case
from optimizer.files.survey_file import survey_from_toml
from optimizer.files.surveyed_case import refuse_unsure_points
from optimizer.models.points import POINTS_OF_LAYOUT, Layout
from optimizer.surveying.survey import survey
from tests.optimizer.command_line import CASES
from tests.optimizer.surveying.invented_surveys import (
    LAYOUTS,
    Garage,
    file_text,
    surveyed,
    with_reading,
)


@pytest.fixture
def typed(tmp_path):
    """A survey without error, as a file."""

    def written(layout="strut", side=1.0, spoil=None, **changes):
        read = surveyed(Garage.of(layout, side=side), layout, **changes)
        path = tmp_path / "survey.toml"
        path.write_text(file_text(read if spoil is None else spoil(read)), encoding="utf-8")
        return path

    return written


def told(capsys, *arguments):
    assert main([*map(str, arguments)]) == 0
    return capsys.readouterr().out


def told_as_json(capsys, *arguments):
    return json.loads(told(capsys, *arguments, "--json"))


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("side", [1.0, -1.0], ids=["left", "right"])
def test_a_survey_becomes_a_case_that_every_command_takes(typed, tmp_path, capsys, units, side):
    path, case_path = typed(side=side, units=units, name="My coupe"), tmp_path / "case.toml"
    answer = told_as_json(capsys, "survey", path, "--write", case_path)
    case = read_case(case_path)
    assert (case.name, case.units, case.side) == ("My coupe", units, answer["subject"]["sides"][0])
    true = Garage.of("strut", side=side).points
    moved = true["wheel_center"][0]
    rounding = 0.06 if units == "mm" else 0.02
    for point in answer["points"]:
        at, sigma = getattr(case.points, point["name"]), case.accuracy.of(point["name"])
        expected = np.subtract(true[point["name"]], [moved, 0.0, 0.0])
        np.testing.assert_allclose(at, expected, atol=rounding)
        np.testing.assert_allclose(sigma, point["sigma_mm"], atol=0.02)
    assert case.wheel.tire_radius == pytest.approx(true["wheel_center"][2], abs=rounding)
    starter = tmp_path / "starter.toml"
    starter.write_text(starter_case("strut"), encoding="utf-8")
    sure, unsure = (peak_95(capsys, one) for one in (case_path, starter))
    assert sure < unsure  # tape and floor marks tell more than 2 mm of each coordinate


def peak_95(capsys, case_path):
    """How far the best of the hardware may peak, as sure as the points are. [deg]."""
    assert main(["suggest", str(case_path)]) in (0, 1)
    report = capsys.readouterr().out
    return float(re.search(r"it peaks below ([\d.]+)\s+deg with 95 %", report)[1])


def test_a_survey_goes_into_a_case_that_there_is_with_every_comment_kept(typed, tmp_path, capsys):
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    text = starter_case("strut").replace("#[accuracy]", "[accuracy]")
    old.write_text(text.replace("#points = 2.0", "points = 2.0"), encoding="utf-8")
    told(capsys, "survey", typed(), "--write", new, "--case", old)
    case, before = read_case(new), read_case(old)
    assert case.accuracy.covariance_root.keys() == before.points.model_dump().keys()
    assert {k: v for k, v in case if k not in ("points", "accuracy")} == {
        k: v for k, v in before if k not in ("points", "accuracy")
    }
    comments = [
        re.sub(r".*?(#|$)", "#", line, count=1) for line in text.splitlines() if "#" in line
    ]
    kept = new.read_text(encoding="utf-8")
    assert [one for one in comments if one not in kept and "how well" not in one] == []
    told(capsys, "survey", typed(), "--write", new, "--case", new, "--overwrite")
    assert new.read_text(encoding="utf-8").count("from a survey by tape") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--case", "CASE"], "--case: is what --write takes the rest from"),
        (["--case", "CASE", "--write", "new.toml"], "is a double-wishbone, the survey strut"),
        (
            ["--write", "survey.toml"],
            "is read by this command or written by another option; name another file",
        ),
        (["--plan", "plan.png"], "must end in .svg"),
    ],
)
def test_what_can_t_be_written_is_refused_before_anything_is(
    typed, tmp_path, monkeypatch, capsys, arguments, said
):
    other = tmp_path / "other.toml"
    other.write_text(starter_case("double-wishbone"), encoding="utf-8")
    path = typed()
    monkeypatch.chdir(tmp_path)
    files = {*tmp_path.iterdir()}
    assert main(["survey", str(path), *(x.replace("CASE", str(other)) for x in arguments)]) == 2
    assert said in capsys.readouterr().err
    assert {*tmp_path.iterdir()} == files


def test_a_point_that_is_hardly_known_goes_into_no_case():
    found = survey(surveyed(Garage.of("strut"), "strut"))
    refuse_unsure_points(found)
    root = found.covariance_root | {"tie_rod_inner": ((1.0,), (0.0, 1.0), (0.0, 90.0, 120.0))}
    with pytest.raises(PivotwrightError, match=r"^--write: tie_rod_inner is known to 150\.0 mm"):
        refuse_unsure_points(found.model_copy(update={"covariance_root": root}))


def test_the_tape_reading_to_take_again_is_named_as_it_is_typed(typed, capsys):
    path = typed(
        spoil=lambda read: with_reading(read, "marks", ("A", "strut_top"), lambda x: x - 20.0)
    )
    report = " ".join(told(capsys, "survey", path).split())
    place = 1 + [row.names for row in survey_from_toml(path.read_text(), "s").marks].index(
        ("A", "strut_top")
    )
    assert "base mark A and strut_top, read as" in report
    assert f"(marks[{place}]), is 20.0 mm less than the others say. Read it again." in report
    assert "one thing is to be settled at the car" in report
    every = told(capsys, "survey", path, "--verbose")
    assert re.search(rf"marks\[{place}\] \* +A to strut_top", every)
    assert "To look at again" in told(capsys, "survey", path, "--quiet")


def test_the_plan_is_a_drawing_and_the_page_holds_it(typed, tmp_path, capsys):
    path = typed(
        spoil=lambda read: with_reading(read, "marks", ("A", "strut_top"), lambda x: x - 20.0)
    )
    plan, page = tmp_path / "plan.svg", tmp_path / "page.html"
    told(capsys, "survey", path, "--plan", plan, "--page", page)
    drawn = ElementTree.fromstring(plan.read_text(encoding="utf-8"))
    words = {text.text for text in drawn.iter("{http://www.w3.org/2000/svg}text")}
    assert {"A", "B", *POINTS_OF_LAYOUT["strut"].model_fields} <= words
    lines = [one.get("class") for one in drawn.iter("{http://www.w3.org/2000/svg}line")]
    assert lines.count("tape doubted") == 1
    told_on_page = page.read_text(encoding="utf-8")
    assert 'class="tape doubted"' in told_on_page
    assert "Read it again." in told_on_page


@pytest.mark.parametrize("layout", get_args(Layout))
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_blank_survey_is_one_of_its_layout_and_names_every_point(capsys, layout, units):
    text = told(capsys, "new", "survey", layout, "--units", units)
    blank = survey_from_toml(text, "blank")
    assert (blank.layout, blank.units) == (layout, units)
    assert not any(row.values for rows in blank.rows.values() for row in rows)
    points = set(blank.point_names)
    assert {name for row in blank.heights for name in row.names} == points
    assert {name for row in blank.lengths for name in row.names} == points
    assert blank.accuracy.tape == pytest.approx(1.0, rel=0.03)
    assert tomllib.loads(text)["side"] == "left"
    every = survey_from_toml(re.sub(r"(?m)^#(?=[a-z\[])", "", text), "all")
    assert every.floor is not None


def test_layouts_of_surveys_are_those_of_cases():
    assert set(LAYOUTS) == set(get_args(Layout))


def test_a_survey_is_of_the_schema_for_surveys(typed, capsys):
    schema = json.loads(told(capsys, "schema", "survey"))
    valid = jsonschema.Draft202012Validator(schema).is_valid
    assert valid(tomllib.loads(typed().read_text(encoding="utf-8")))
    blank = tomllib.loads(starter(SURVEY, "five-link"))
    assert valid(blank)
    assert not valid(blank | {"hights": []})
    answer = json.loads(told(capsys, "schema", "answer", "--of", "survey"))
    found = told_as_json(capsys, "survey", typed())
    jsonschema.Draft202012Validator(answer).validate(found)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("'left'", "'middle'", r'side +must be "left" or "right", got "middle"'),
        ("'strut_top', 8", "'strut_topp', 8", r'heights\[7\] +names "strut_topp".*mean strut_top'),
        ("'A', 'B', 1800.0", "'A', 'A', 1800.0", r"marks\[1\] +must name two different places"),
        ("'A', 'B', 1800.0", "'A', 'B', '1800'", r'marks\[1\] +must be a number, got "1800"'),
        ("'A', 'B', 1800.0", "'A', 'B', -1800.0", r"marks\[1\] +must be read above 0"),
        ("'A', 'B', 1800.0", "'A', 'B', 18000.0", r"marks\[1\] +must be within 5000 mm"),
        ("'A', 'B', 1800.0", "1800.0", r"marks\[1\] +must be two names and what was read"),
        ("'A', 'B', 1800.0", "'A', 'B'", r'marks +must hold a reading of \["A", "B"\]'),
        ("format = 1", "format = 2", r"format +must be 1, the only one"),
        ("heights = [", "height = [", r"height +is not a known key; did you mean heights\?"),
    ],
)
def test_a_fault_is_told_with_its_place(typed, capsys, old, new, fault):
    path = typed()
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    assert main(["survey", str(path)]) == 2
    assert re.search(fault, capsys.readouterr().err, re.DOTALL)


def test_a_blank_survey_says_what_to_read_first(tmp_path, capsys):
    path = tmp_path / "blank.toml"
    path.write_text(starter(SURVEY, "strut"), encoding="utf-8")
    assert main(["survey", str(path)]) == 2
    assert 'must hold a reading of ["A", "B"]' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["survey"], "say which layout; there are strut, double-wishbone"),
        (["survey", "leaf"], 'there is no layout "leaf"'),
        (["survey", "strut", "--points", "x.csv"], "a table of points makes a case"),
    ],
)
def test_a_blank_survey_needs_a_layout(capsys, arguments, said):
    assert main(["new", *arguments]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("layout", get_args(Layout))
@pytest.mark.parametrize("ending", [".html", ".txt"])
def test_the_list_to_take_along_has_room_for_every_row(tmp_path, capsys, layout, ending):
    blank, sheet = tmp_path / "blank.toml", tmp_path / f"sheet{ending}"
    blank.write_text(starter(SURVEY, layout), encoding="utf-8")
    assert told(capsys, "survey", blank, "--sheet", sheet) == ""
    text, survey = sheet.read_text(encoding="utf-8"), survey_from_toml(blank.read_text(), "blank")
    rows = sum(len(rows) for rows in survey.rows.values()) + len(survey.heights)
    room = text.count("<td></td>") if ending == ".html" else len(re.findall(r" ______(?!_)", text))
    assert room == rows
    assert all(name in text for name in survey.point_names)
    assert text.count("Straight from joint to joint") == 1
    assert ("<svg" in text) == (ending == ".html")


def test_a_list_to_take_along_shows_what_was_read_already(typed, tmp_path, capsys):
    sheet = tmp_path / "sheet.txt"
    told(capsys, "survey", typed(units="in"), "--sheet", sheet)
    text = sheet.read_text(encoding="utf-8")
    assert re.search(r"A to B +70\.8661", text)  # 1800 mm
    assert not re.search(r" ______(?!_)", text)


def test_a_list_is_written_alone(typed, tmp_path, capsys):
    sheet, page = tmp_path / "sheet.html", tmp_path / "page.html"
    assert main(["survey", str(typed()), "--sheet", str(sheet), "--page", str(page)]) == 2
    assert "--page: is of what was read; say it without --sheet" in capsys.readouterr().err
    assert not sheet.exists()


def test_inches_may_be_typed_as_the_tape_shows_them(typed, capsys):
    path = typed(units="in")
    text = path.read_text(encoding="utf-8")
    (read,) = re.findall(r"'A', 'B', ([\d.]+)", text)
    assert read.startswith("70.866")  # 70 7/8 is 70.875
    path.write_text(text.replace(read, "'70 7/8'"), encoding="utf-8")
    answer = told_as_json(capsys, "survey", path)
    (base,) = (one for one in answer["readings"] if one["names"] == ["A", "B"])
    assert base["read"] == pytest.approx(70.875 * 25.4)
    path.write_text(text.replace(read, "'70 7/0'"), encoding="utf-8")
    assert main(["survey", str(path)]) == 2
    assert 'as on a tape "48 13/16", got "70 7/0"' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("units", "at_mm", "told_as"), [("mm", 100.0, "100 mm"), ("in", 25.4, "1 in")]
)
def test_a_tape_held_at_another_mark_than_its_zero_is_asked_about(
    typed, capsys, units, at_mm, told_as
):
    path = typed(
        units=units,
        spoil=lambda read: with_reading(read, "marks", ("A", "strut_top"), lambda x: x + at_mm),
    )
    report = " ".join(told(capsys, "survey", path).split())
    assert f"was the tape held at {told_as}, and that not taken off?" in report


def test_what_is_held_back_is_said_where_a_case_is_written(typed, tmp_path, capsys):
    path = typed(
        spoil=lambda read: with_reading(read, "marks", ("A", "strut_top"), lambda x: x - 20.0)
    )
    assert main(["survey", str(path), "--write", str(tmp_path / "case.toml"), "--quiet"]) == 0
    said = capsys.readouterr().err
    assert "What doesn't agree is hardly counted in it; one thing is to be settled" in said


def test_just_enough_readings_are_said_to_check_nothing(typed, capsys):
    def least(read):
        heights = tuple(row.model_copy(update={"values": row.values[:1]}) for row in read.heights)
        marks = tuple(row for row in read.marks if {*row.names} & {"A", "B"})
        return read.model_copy(
            update={"heights": heights, "marks": marks, "center_line": (), "lengths": ()}
        )

    report = told(capsys, "survey", typed(spoil=least))
    assert "none more than needed: they place the points and check nothing" in report
    assert "A slip of 20 mm in these would not show" in report


def test_a_survey_is_no_case_and_a_case_no_survey(typed, tmp_path, capsys):
    assert main(["check", str(typed())]) == 2
    assert "is a survey; pivotwright survey FILE --write CASE makes" in capsys.readouterr().err
    case = tmp_path / "case.toml"
    case.write_text(starter_case("strut"), encoding="utf-8")
    assert main(["survey", str(case)]) == 2
    assert "is a case file; a survey lists heights" in capsys.readouterr().err


def test_the_invented_survey_names_the_tape_that_was_held_at_one_inch(capsys):
    report = " ".join(told(capsys, "survey", CASES / "surveys" / "inch-coupe.toml").split())
    assert "base mark B and tie_rod_outer, read as 41.875 in (marks[7]), is 0.999 in more" in report
