"""The measuring sheet: what to prepare, which heights to read, blanks for the gauge at hand."""

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.sheet import sheet
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from optimizer.cli.sheet import KINDS
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.toml_file import file_text
from optimizer.models.sheet import BLANKS, SET_UP, Sheet
from optimizer.reports.sheet import sheet_html, sheet_text

CASES = Path(__file__).parents[2] / "cases"
STRUT, KIT_CAR = CASES / "lowered-strut.toml", CASES / "kit-car-inches.toml"
SEAT = Settings.single()
ANGLE_ATOL_DEG = 1e-9
# What goes wrong when it is left out; common practice, no source.
PREPARATIONS = [
    "record the ride height",
    "spring out",
    "anti-roll bar",
    "Lock the steering at the center",
    "play makes two curves",
    "Stands under the body",
    "tire pressures",
    "zero the gauge",
]


class Page(HTMLParser):
    """Tags, cells and links of a page."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.open, self.cells, self.addresses = [], [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.addresses += [value for key, value in attrs if key in ("src", "href")]
        if tag not in ("meta", "br"):
            self.open.append(tag)
        if tag == "td":
            self.cells.append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] == "td":
            self.cells[-1] = data


def test_the_heights_are_the_trade_s_steps_from_ride_height_with_both_ends_of_the_travel():
    made = sheet(read_case(STRUT), SEAT, "standard seat", "two-dial")
    assert [row.travel_mm for row in made.rows] == list(range(-60, 51, 10))
    inches = sheet(read_case(KIT_CAR), SEAT, "standard seat", "two-dial")
    steps = np.diff([row.travel_mm for row in inches.rows])
    assert steps[1:-1] == pytest.approx(12.7)


def test_what_to_expect_is_the_toe_change_of_what_is_fitted():
    case = read_case(STRUT)
    setting = Settings.single(7.0, 3.0)
    made = sheet(case, setting, "a stack", "two-dial")
    travel = np.array([row.travel_mm for row in made.rows])
    toe = np.degrees(Evaluator.of(case).toe(setting, travel)[0])
    expected = (toe - toe[travel == 0.0]).tolist()
    found = [row.toe_change_deg for row in made.rows]
    assert found == pytest.approx(expected, abs=ANGLE_ATOL_DEG)


def test_what_to_expect_includes_a_wanted_gain():
    text = file_text(STRUT).replace("[aim]", "[aim]\ntoe_gain_deg_per_10mm = -0.02")
    with_gain = sheet(case_from_toml(text, "gain"), SEAT, "standard seat", "two-dial")
    without = sheet(read_case(STRUT), SEAT, "standard seat", "two-dial")
    found = [row.toe_change_deg for row in with_gain.rows]
    # The gauge shows the car, whatever is wanted of it.
    assert found == pytest.approx([row.toe_change_deg for row in without.rows], abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_every_gauge_has_its_blanks_and_its_set_up(kind):
    made = sheet(read_case(STRUT), SEAT, "standard seat", kind)
    assert made.blanks == list(BLANKS[kind])
    text = sheet_text(made)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert all(title in text for title in BLANKS[kind])
    assert SET_UP[kind] in " ".join(text.split())
    assert set(KINDS) == set(BLANKS) == set(SET_UP)


@pytest.mark.parametrize("as_page", [sheet_text, sheet_html])
def test_it_says_how_to_prepare_the_car_and_who_judges_the_work(as_page):
    text = " ".join(as_page(sheet(read_case(STRUT), SEAT, "standard seat", "two-dial")).split())
    assert [words for words in PREPARATIONS if words not in text] == []
    assert "40 mm below the one at which the car was measured" in text
    assert "licensed" in text


def test_the_page_stands_alone_and_prints_in_black_on_white():
    made = sheet(read_case(STRUT), SEAT, "standard seat", "two-dial")
    page = Page(sheet_html(made))
    assert page.open == []
    assert page.addresses == []
    assert "script" not in page.tags
    assert "@media print" in sheet_html(made)
    columns = 3 + len(made.blanks)
    assert len(page.cells) == 2 * columns * len(made.rows)  # up, and back
    rows = [page.cells[k : k + columns] for k in range(0, len(page.cells), columns)]
    assert [row[0] for row in rows][:2] == ["+50.0", "+40.0"]
    assert all(row[2:] == [""] * (columns - 2) for row in rows)


def test_a_name_can_t_break_the_page():
    text = file_text(STRUT).replace('name   = "Track', 'name   = "<b>&amp; Track')
    made = sheet(case_from_toml(text, "odd"), SEAT, "<i>", "two-dial")
    page = Page(sheet_html(made))
    assert page.open == []
    assert {"b", "i"} & set(page.tags) == set()
    assert "&lt;b&gt;&amp;amp;" in sheet_html(made)


def test_the_text_lines_up_in_columns():
    lines = sheet_text(sheet(read_case(STRUT), SEAT, "seat", "two-dial")).splitlines()
    table = [line for line in lines if re.match(r"\s*(travel,|[-+]?\d+\.0 )", line)]
    assert len(table) == 2 * 13
    assert len({len(line) for line in table}) == 1


@pytest.mark.parametrize("as_page", [sheet_text, sheet_html])
def test_there_is_room_for_both_strokes_and_for_which_wheel_was_swept_by_whom(as_page):
    text = as_page(sheet(read_case(STRUT), SEAT, "seat", "two-dial"))
    assert "write down every height both ways" in " ".join(text.split())
    assert text.count("+50.0") == text.count("-60.0") == 2
    assert "Up, from the lowest line to the highest" in text
    assert "And back, from the highest to the lowest" in text
    assert "left wheel" in text
    assert "Measured by" in text


def test_the_command_prints_the_winner_s_sheet_and_one_for_a_named_stack(capsys):
    assert main(["sheet", str(STRUT), "--json"]) == 0
    made = Sheet.model_validate_json(capsys.readouterr().out)
    assert "drop outer" in made.fit
    assert main(["sheet", str(KIT_CAR), "--json", "--outer-drop", "6.35"]) == 0
    named = Sheet.model_validate(json.loads(capsys.readouterr().out))
    assert named.fit == "outer drop 0.25 in, rack raise 0 in"


def test_the_command_prints_a_page_or_text(capsys):
    arguments = ["sheet", str(STRUT), "--outer-drop", "5", "--kind", "string"]
    assert main(arguments) == 0
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")
    assert main([*arguments, "--text"]) == 0
    text = capsys.readouterr().out
    assert "Fitted: outer drop 5 mm, rack raise 0 mm" in text
    assert "<" not in text


def test_a_case_that_can_t_be_read_ends_with_code_2(tmp_path, capsys):
    assert main(["sheet", str(tmp_path / "none.toml")]) == 2
    out, err = capsys.readouterr()
    assert (out, "does not exist" in err) == ("", True)


@pytest.mark.parametrize("as_page", [sheet_text, sheet_html])
def test_what_to_build_says_what_it_asks_of_the_stud_and_the_thread(as_page):
    case = read_case(CASES / "extended-strut.toml")
    made = sheet(case, Settings.single(20.0, 0.0, 30.0), "drop outer 20.0 mm", "two-dial")
    text = " ".join(as_page(made).split())
    ratio = (case.stud.standard_height + 20.0) / case.stud.standard_height
    assert made.strength.stud_height_ratio == pytest.approx(ratio)
    left = case.thread.engaged - made.tie_rod_length_change_mm
    assert made.strength.thread_engagement_mm == pytest.approx(left)
    for words in (
        "Drop outer 20.0 mm.",
        "Reset toe at ride height",
        "large end of the taper, 16.0 mm across",
        f"{ratio:.2f} x the standard height",
        f"{left:.1f} mm engaged after the toe reset",
    ):
        assert words in text


def test_a_case_without_a_stud_gets_a_sheet_that_says_nothing_of_one():
    made = sheet(read_case(STRUT), SEAT, "standard seat", "two-dial")
    assert (made.stud, made.thread) == (None, None)
    assert not re.search("stud|thread", sheet_text(made))


def test_a_stack_that_the_rod_could_not_follow_gets_no_sheet(capsys):
    assert main(["sheet", str(STRUT), "--outer-drop", "900"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "outer drop 900 mm, rack raise 0 mm: the tie rod could not follow the wheel" in err


def test_what_to_build_names_the_ball_joint_where_it_is_not_the_car_s(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text(file_text(STRUT) + "\n[lower_ball_joint]\ndrop = [30.0, 15.0]\n")
    assert main(["sheet", str(path), "--json"]) == 0
    assert "lower ball joint 15.0 mm down" in Sheet.model_validate_json(capsys.readouterr().out).fit


def test_where_nothing_fits_the_sheet_is_for_the_car_as_it_is_and_says_so(tmp_path, capsys):
    path = tmp_path / "car.toml"
    text = file_text(CASES / "track-wishbone.toml")
    path.write_text(text.replace("tilt_limit_deg = 14.0", "tilt_limit_deg = 1.0"))
    assert main(["sheet", str(path), "--json"]) == 1
    out, err = capsys.readouterr()
    made = Sheet.model_validate_json(out)
    assert made.fit == "leave it as it is"
    assert "Nothing that can be built keeps every limit" in err
