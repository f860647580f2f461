"""Every command on a case of both wheels: what goes where, what the reports say, golden reports."""

import re
import tomllib
from typing import get_args

import jsonschema
import numpy as np
import pytest

from optimizer.answers.plausibility import refuse_impossible
from optimizer.answers.sides.check import check_both
from optimizer.files.case_file import read_car
from optimizer.files.starters import starter_case
from optimizer.models.case import Layout
from optimizer.models.gauge import GaugeResult
from optimizer.models.reach import ReachResult
from optimizer.models.sheet import Sheet
from optimizer.models.together import GaugeOfBothSides, ReachOfBothSides, SheetOfBothSides

from .command_line import ROOT, changed, process, run, strictly_json
from .two_sided_cars import ANGLE_ATOL_DEG, DEMO, MIRRORED, car_of, moved

WIDTH = 100
TRIALS = {"suggest": ["--trials", "2"]}
OF_BOTH = {"reach": (ReachOfBothSides, ReachResult), "sheet": (SheetOfBothSides, Sheet)}


@pytest.fixture(autouse=True)
def _output_is_no_terminal(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)


def printed(capsys, *arguments):
    """Standard output of the program where it went well."""
    assert run(*arguments) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


# --- JSON: the left wheel's keys, the right wheel's, and what both tell


@pytest.mark.parametrize("command", OF_BOTH)
def test_json_holds_one_wheel_s_keys_for_both_and_is_of_the_exported_schema(
    capsys, two_sided_car, command
):
    out = printed(capsys, command, two_sided_car, "--json")
    document = strictly_json(out)
    of_both, of_one = OF_BOTH[command]
    schema = of_both.model_json_schema(mode="serialization")
    jsonschema.Draft202012Validator(schema).validate(document)
    assert of_both.model_validate_json(out).model_dump(mode="json") == document
    right = document.pop("right")
    document.pop("together", None)
    assert set(document) == set(right) == set(of_one.model_fields)
    assert (document["subject"]["side"], right["subject"]["side"]) == ("left", "right")


def test_the_curve_s_json_has_total_toe_difference_and_causes(capsys, two_sided_car):
    document = strictly_json(printed(capsys, "curve", two_sided_car, "--json"))
    together = document["together"]
    total = [a + b for a, b in zip(document["toe_deg"], document["right"]["toe_deg"], strict=True)]
    assert together["total_toe_deg"] == pytest.approx(total, abs=ANGLE_ATOL_DEG)
    assert len(together["toe_difference_deg"]) == len(document["travel_mm"])
    assert all(isinstance(cause, str) for cause in together["causes"])
    assert document["right"]["side"] == "right"


def test_a_case_of_one_wheel_answers_as_it_did(capsys, demo_car):
    for command in ("curve", "check"):
        document = strictly_json(printed(capsys, command, demo_car, "--json"))
        assert not {"right", "together"} & set(document)


# --- starters


@pytest.mark.parametrize("layout", [one for one in get_args(Layout) if one != "beam-axle"])
def test_a_starter_takes_the_points_of_both_wheels_as_its_comment_says(capsys, tmp_path, layout):
    text = starter_case(layout)
    assert "[left.points] and [right.points] then take the place of [points]" in text
    points = tomllib.loads(text)["points"]
    right = [f"{name} = [{x}, {-y}, {z}]\n" for name, (x, y, z) in points.items()]
    path = tmp_path / "car.toml"
    path.write_text(
        text.replace("\n[points] ", "\n[left.points] ") + "\n[right.points]\n" + "".join(right)
    )
    assert "The wheels pass for mirror images" in " ".join(printed(capsys, "check", path).split())


# --- reports

REPORTS = {
    "check": ["check"],
    "curve": ["curve"],
    "suggest": ["suggest", "--trials", "2"],
    "kits": ["suggest", "--kits", "cases/kits.toml", "--trials", "2"],
    "reach": ["reach", "--heights", "0:40:10"],
}


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_of_both_wheels_reads_as_it_did(
    capsys, monkeypatch, two_sided_car, same_as_golden, name
):
    monkeypatch.chdir(ROOT)
    command, *options = REPORTS[name]
    out = printed(capsys, command, two_sided_car.relative_to(ROOT), *options)
    assert max(len(line) for line in out.splitlines()) <= WIDTH
    same_as_golden(f"{two_sided_car.stem}.{name}.txt", out)


def test_alike_wheels_are_said_to_be_alike(capsys):
    out = " ".join(printed(capsys, "check", MIRRORED).split())
    assert "The wheels pass for mirror images" in out
    assert "Likely causes" not in out


def test_the_demo_car_is_told_its_three_faults(capsys):
    out = " ".join(printed(capsys, "curve", DEMO).split())
    for words in ("shims fitted on the wrong sides", "off center by 4.0 mm", "not level"):
        assert words in out


def test_suggest_tells_one_rack_height_and_a_stack_for_each_wheel(capsys):
    out = " ".join(printed(capsys, "suggest", DEMO, "--trials", 2).split())
    fit = re.search(r"Fit left: (.*?); right: (.*?)\. There is one rack", out)
    assert [re.search(r"raise rack \d\.\d mm", wheel)[0] for wheel in fit.groups()] == [
        "raise rack 2.0 mm"
    ] * 2
    assert out.count("puts the stud in single shear") == 1
    assert "pairs; none that fits has both wheels peak below" in out


def test_the_sheet_has_a_page_for_each_wheel(capsys):
    page = printed(capsys, "sheet", DEMO, "--outer-drop", 3, "--right-outer-drop", 1)
    assert page.count("<h1>") == 2
    assert page.count("</html>") == page.count("<!DOCTYPE") == 1
    assert page.index("left wheel. Fitted: outer drop 3 mm") < page.index(
        "right wheel. Fitted: outer drop 1 mm"
    )
    text = printed(capsys, "sheet", DEMO, "--text", "--outer-drop", 3)
    assert text.index("LEFT WHEEL") < text.index("RIGHT WHEEL")
    assert text.count("Fitted: outer drop 3 mm, rack raise 0 mm") == 2


def test_the_sheet_s_stacks_are_those_of_suggest(capsys):
    found = strictly_json(printed(capsys, "suggest", DEMO, "--json", "--trials", 2))
    sheets = strictly_json(printed(capsys, "sheet", DEMO, "--json"))
    for sheet, wheel in ((sheets, found), (sheets["right"], found["right"])):
        assert sheet["fit"].startswith(f"drop outer {wheel['ranked'][0]['outer_drop_mm']:.1f} mm")
        assert [row["toe_change_deg"] for row in sheet["rows"]] == pytest.approx(
            [row["toe_change_deg"] for row in wheel["expected"]], abs=1e-6
        )


# --- gauge


def sweep(path, side, slope, rack_raise=2.0):
    """A readings file of one wheel, toe rising by `slope`. [deg/mm]."""
    rows = [[travel, round(slope * travel, 4)] for travel in (-40.0, -20.0, 0.0, 20.0, 40.0)]
    name = "" if side is None else f'side = "{side}"\n'
    path.write_text(
        f'format = 1\nname = "sweep"\nunits = "mm"\nkind = "angle"\n{name}'
        f"outer_drop = 0.0\nrack_raise = {rack_raise}\nreadings = {rows}\n"
    )
    return path


def test_readings_correct_the_wheel_that_they_are_of(capsys, tmp_path):
    left = sweep(tmp_path / "left.toml", "left", 0.011)
    right = sweep(tmp_path / "right.toml", "right", 0.006)
    out = printed(capsys, "gauge", DEMO, left, right, "--json")
    document = strictly_json(out)
    assert GaugeOfBothSides.model_validate_json(out).model_dump(mode="json") == document
    assert document["measured"]["toe_slope_deg_per_10mm"] == pytest.approx(0.11, abs=1e-6)
    assert document["right"]["measured"]["toe_slope_deg_per_10mm"] == pytest.approx(0.06, abs=1e-6)
    assert document["fitted_points"]["wheel_center"][1] > 0.0
    assert document["right"]["fitted_points"]["wheel_center"][1] < 0.0
    half = np.array(document["sides"]["half_difference_deg"])
    expected = 0.5 * (0.011 - 0.006) * np.array(document["sides"]["travel_mm"])
    assert half == pytest.approx(expected, abs=1e-6)
    # One rack: it stays at the spacer that was fitted while measuring.
    assert document["next"]["rack_raise_mm"] == document["right"]["next"]["rack_raise_mm"] == 2.0
    assert printed(capsys, "gauge", DEMO, left, right).count("What the gauge says") == 2


def test_one_rack_at_two_heights_is_asked_about(capsys, tmp_path):
    left = sweep(tmp_path / "left.toml", "left", 0.011, rack_raise=0.0)
    right = sweep(tmp_path / "right.toml", "right", 0.006, rack_raise=2.0)
    document = strictly_json(printed(capsys, "gauge", DEMO, left, right, "--json"))
    asked = [text for text in document["questions"] if "Is that how it is now?" in text]
    assert len(asked) == 1
    assert "rack raised by 0 mm, that of the right wheel by 2 mm" in asked[0]
    assert document["next"]["rack_raise_mm"] == 2.0


def test_one_wheel_may_be_swept_alone(capsys, tmp_path):
    right = sweep(tmp_path / "right.toml", "right", 0.006)
    document = strictly_json(printed(capsys, "gauge", DEMO, right, "--json"))
    assert document["subject"]["side"] == "right"
    assert document["right"] is None
    assert set(document) == {*GaugeResult.model_fields, "right"}


def test_the_corrected_case_keeps_both_wheels_and_every_comment(capsys, tmp_path):
    sweeps = [sweep(tmp_path / f"{side}.toml", side, 0.011) for side in ("left", "right")]
    path = tmp_path / "corrected.toml"
    document = strictly_json(printed(capsys, "gauge", DEMO, *sweeps, "--json", "--write", path))
    text = path.read_text(encoding="utf-8")
    assert text.count("#") == DEMO.read_text(encoding="utf-8").count("#") + 1
    car = read_car(path)
    for case, found in zip(car.wheels, (document, document["right"]), strict=True):
        for name, point in found["fitted_points"].items():
            assert getattr(case.points, name) == pytest.approx(point, abs=0.006)


def test_readings_of_no_named_side_are_refused(capsys, tmp_path):
    assert run("gauge", DEMO, sweep(tmp_path / "sweep.toml", None, 0.01)) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert 'side must be given, "left" or "right"; the case measures both wheels' in err


# --- mistakes


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["suggest", DEMO, "--custom"], "custom_pivot  must be given"),
        (
            ["curve", ROOT / "cases" / "lowered-strut.toml", "--right-outer-drop", "3"],
            "--right-outer-drop: the case measures one wheel",
        ),
    ],
)
def test_what_makes_no_sense_for_these_wheels_is_refused(capsys, arguments, words):
    assert run(*arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert "Traceback" not in err


def test_a_wheel_that_can_t_be_is_refused_by_its_side(capsys, tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(changed(DEMO, "^lowered_by = .*", "lowered_by = 350.0"))
    assert run("check", path) == 2
    assert capsys.readouterr().err.startswith(f"{path} has 1 fault:\n  ride.lowered_by")
    path.write_text(changed(DEMO, "^bump .*", "bump = 390.0"))
    assert run("suggest", path) == 2
    assert capsys.readouterr().err.count("ride.bump") == 1  # both wheels say the same
    path.write_text(moved(path.read_text(), "right", "upper_ball_joint", (0.0, 0.0, 60.0)))
    assert run("suggest", path) == 2
    err = capsys.readouterr().err
    assert err.count("ride.bump") == 2
    assert "(on the left wheel)" in err
    assert "(on the right wheel)" in err


def test_a_possible_car_is_not_refused():
    car = car_of(MIRRORED.read_text(encoding="utf-8"))
    refuse_impossible(car, MIRRORED)
    assert check_both(car).facts["tie rod"] == check_both(car).right.facts["tie rod"]


def test_suggest_ends_with_1_where_no_pair_fits(tmp_path):
    path = tmp_path / "binds.toml"
    path.write_text(changed(DEMO, "^outer = .*", "outer = { tilt_limit_deg = 0.5 }"))
    ended = process("suggest", path, "--trials", 2)
    assert (ended.returncode, ended.stderr) == (1, "")
    assert "keeps every limit on both wheels" in ended.stdout
