"""The measuring sheet: what to prepare, which heights to read, blanks for the gauge at hand."""

import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.sheet import sheet
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.cli.main import main
from optimizer.cli.sheet import KINDS
from optimizer.files.case_file import case_from_toml, read_car, read_case
from optimizer.files.toml_file import file_text
from optimizer.models.setting import Fitted
from optimizer.models.sheet import BLANKS, Sheet
from optimizer.models.vehicle import Vehicle
from optimizer.reports.sheet import sheet_html, sheet_text
from optimizer.wording.sheets import SET_UP
from tests.optimizer.command_line import answer_of, strictly_json

CASES = Path(__file__).parents[3] / "cases"
BOTH_WHEELS = CASES / "two-sided-wishbone.toml"
STRUT, KIT_CAR = CASES / "lowered-strut.toml", CASES / "kit-car-inches.toml"
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


def sheet_of(case, drop=0.0, rack_raise=0.0, *, kind="two-dial", fit="best"):
    """Sheet of a case of one wheel with a setting fitted; the standard seat if none is named."""
    fitted = Fitted(
        side=case.side,
        outer_drop_mm=drop,
        stack_mm=[],
        rack_raise_mm=rack_raise,
        **case.linkage_choices[0].named,
    )
    return sheet(Vehicle((case,)), [fitted], kind, fit)


def rows_of(made):
    (wheel,) = made.wheels
    return wheel.rows


def test_the_heights_are_the_trade_s_steps_from_ride_height_with_both_ends_of_the_travel():
    made = sheet_of(read_case(STRUT))
    assert [row.travel_mm for row in rows_of(made)] == list(range(-60, 51, 10))
    inches = sheet_of(read_case(KIT_CAR))
    steps = np.diff([row.travel_mm for row in rows_of(inches)])
    assert steps[1:-1] == pytest.approx(12.7)


def test_what_to_expect_is_the_toe_change_of_what_is_fitted():
    case = read_case(STRUT)
    setting = Settings.single(7.0, 3.0)
    made = sheet_of(case, 7.0, 3.0)
    travel = np.array([row.travel_mm for row in rows_of(made)])
    toe = np.degrees(Evaluator.of(case).toe(setting, travel)[0])
    expected = (toe - toe[travel == 0.0]).tolist()
    found = [row.toe_change_deg for row in rows_of(made)]
    assert found == pytest.approx(expected, abs=ANGLE_ATOL_DEG)


def test_toe_plates_are_refused_on_a_beam_axle_whose_wheels_steer_alike(capsys):
    truck = str(CASES / "lifted-beam-axle.toml")
    assert main(["sheet", truck, "--kind", "toe-plates", "--text"]) == 2
    assert "--kind toe-plates: reads both wheels together" in capsys.readouterr().err
    assert main(["sheet", truck, "--text"]) == 0


def test_what_to_expect_includes_a_wanted_gain():
    text = file_text(STRUT).replace("[aim]", "[aim]\ntoe_gain_deg_per_10mm = -0.02")
    with_gain = sheet_of(case_from_toml(text, "gain"))
    without = sheet_of(read_case(STRUT))
    found = [row.toe_change_deg for row in rows_of(with_gain)]
    # The gauge shows the car, whatever is wanted of it.
    assert found == pytest.approx([row.toe_change_deg for row in rows_of(without)], abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_every_gauge_has_its_blanks_and_its_set_up(kind):
    made = sheet_of(read_case(STRUT), kind=kind)
    assert made.blanks == list(BLANKS[kind])
    text = sheet_text(made)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert all(title in text for title in BLANKS[kind])
    assert SET_UP[kind] in " ".join(text.split())
    assert set(KINDS) == set(BLANKS) == set(SET_UP)


@pytest.mark.parametrize("as_page", [sheet_text, sheet_html])
def test_it_says_how_to_prepare_the_car_and_who_judges_the_work(as_page):
    text = " ".join(as_page(sheet_of(read_case(STRUT))).split())
    assert [words for words in PREPARATIONS if words not in text] == []
    assert "40 mm below the one at which the car was measured" in text
    assert "licensed" in text


def test_the_page_stands_alone_and_prints_in_black_on_white():
    made = sheet_of(read_case(STRUT))
    page = Page(sheet_html(made))
    assert page.open == []
    assert page.addresses == []
    assert "script" not in page.tags
    assert "@media print" in sheet_html(made)
    columns = 3 + len(made.blanks)
    assert len(page.cells) == 2 * columns * len(rows_of(made))  # up, and back
    rows = [page.cells[k : k + columns] for k in range(0, len(page.cells), columns)]
    assert [row[0] for row in rows][:2] == ["+50.0", "+40.0"]
    assert all(row[2:] == [""] * (columns - 2) for row in rows)


def test_a_name_can_t_break_the_page():
    text = file_text(STRUT).replace('name   = "Track', 'name   = "<b>&amp; Track')
    made = sheet_of(case_from_toml(text, "odd"))
    page = Page(sheet_html(made))
    assert page.open == []
    assert "b" not in page.tags
    assert "&lt;b&gt;&amp;amp;" in sheet_html(made)


def test_the_text_lines_up_in_columns():
    lines = sheet_text(sheet_of(read_case(STRUT))).splitlines()
    table = [line for line in lines if re.match(r"\s*(travel,|[-+]?\d+\.0 )", line)]
    assert len(table) == 2 * 13
    assert len({len(line) for line in table}) == 1


@pytest.mark.parametrize("as_page", [sheet_text, sheet_html])
def test_there_is_room_for_both_strokes_and_for_which_wheel_was_swept_by_whom(as_page):
    text = as_page(sheet_of(read_case(STRUT)))
    assert "write down every height both ways" in " ".join(text.split())
    assert text.count("+50.0") == text.count("-60.0") == 2
    assert "Up, from the lowest line to the highest" in text
    assert "And back, from the highest to the lowest" in text
    assert "left wheel" in text
    assert "Measured by" in text


def fit_of(text):
    """What is fitted, as a document of one wheel says it."""
    assert answer_of(Sheet, text).format == 2
    (wheel,) = strictly_json(text)["wheels"]
    return wheel["fit"]


def test_the_command_prints_the_winner_s_sheet_and_one_for_a_named_stack(capsys):
    assert main(["sheet", str(STRUT), "--json"]) == 0
    assert "drop outer" in fit_of(capsys.readouterr().out)
    assert main(["sheet", str(KIT_CAR), "--json", "--outer-drop", "0.25"]) == 0
    assert fit_of(capsys.readouterr().out) == "outer drop 0.25 in, rack raise 0 in"


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
    made = sheet_of(case, 20.0)
    text = " ".join(as_page(made).split())
    ratio = (case.stud.standard_height + 20.0) / case.stud.standard_height
    (wheel,) = made.wheels
    assert wheel.strength.stud_height_ratio == pytest.approx(ratio)
    left = case.thread.engaged - wheel.tie_rod_length_change_mm
    assert wheel.strength.thread_engagement_mm == pytest.approx(left)
    for words in (
        "Drop outer 20.0 mm.",
        "Reset toe at ride height",
        "large end of the taper, 16.0 mm across",
        f"{ratio:.2f} x the standard height",
        f"{left:.1f} mm engaged after the toe reset",
    ):
        assert words in text


def test_a_case_without_a_stud_gets_a_sheet_that_says_nothing_of_one():
    made = sheet_of(read_case(STRUT))
    (wheel,) = made.wheels
    assert (wheel.stud, wheel.thread) == (None, None)
    assert not re.search("stud|thread", sheet_text(made))


def test_a_stack_that_the_rod_could_not_follow_gets_no_sheet(capsys):
    assert main(["sheet", str(STRUT), "--outer-drop", "900mm"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "outer drop 900 mm, rack raise 0 mm: the tie rod could not follow the wheel" in err


@pytest.mark.parametrize(
    ("drop", "built", "said"),
    [
        (16, "outer drop 16 mm (3 x 5 + 1 x 1), rack raise 0 mm", None),
        (0, "outer drop 0 mm, rack raise 0 mm", None),
        (21, "outer drop 21 mm, rack raise 0 mm", "the nearest is outer drop 20 mm (3 x 5 + 2 x 2"),
        (-4, "outer raise 4 mm, rack raise 0 mm", "the nearest is the standard seat"),
    ],
)
def test_a_stack_that_was_asked_for_is_counted_out_or_told_not_to_be_built(
    capsys, drop, built, said
):
    """The demo car's stud takes 20 mm of shims, downward."""
    assert main(["sheet", str(STRUT), f"--outer-drop={drop}", "--json"]) == 0
    (wheel,) = strictly_json(capsys.readouterr().out)["wheels"]
    assert wheel["fit"] == built
    assert (wheel["not_built"] is None) == (said is None)
    assert main(["sheet", str(STRUT), f"--outer-drop={drop}", "--text"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert f"[ ] {built[0].upper()}{built[1:]}." in text
    if said is None:
        assert "builds no stack of that height" not in text
    else:
        assert f"The hardware of this case builds no stack of that height; {said}" in text


def test_what_to_build_names_the_ball_joint_where_it_is_not_the_car_s(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text(file_text(STRUT) + "\n[lower_ball_joint]\ndrop = [30.0, 15.0]\n")
    assert main(["sheet", str(path), "--json"]) == 0
    assert "lower ball joint 15.0 mm down" in fit_of(capsys.readouterr().out)


def test_where_nothing_fits_the_sheet_is_for_the_car_as_it_is_and_says_so(tmp_path, capsys):
    path = tmp_path / "car.toml"
    text = file_text(CASES / "track-wishbone.toml")
    path.write_text(text.replace("tilt_limit_deg = 14.0", "tilt_limit_deg = 1.0"))
    assert main(["sheet", str(path), "--json"]) == 1
    out, err = capsys.readouterr()
    assert fit_of(out) == "leave it as it is"
    assert "Nothing that can be built keeps every limit" in err


# --- both wheels measured


def printed(capsys, *arguments):
    """The sheet where it went well."""
    assert main(["sheet", *map(str, arguments)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_the_sheet_has_a_page_for_each_wheel(capsys):
    page = printed(capsys, BOTH_WHEELS, "--outer-drop", 3, "--right-outer-drop", 1)
    assert page.count("<h1>") == 2
    assert page.count("</html>") == page.count("<!DOCTYPE") == 1
    assert page.index("left wheel. Fitted: outer drop 3 mm") < page.index(
        "right wheel. Fitted: outer drop 1 mm"
    )
    text = printed(capsys, BOTH_WHEELS, "--text", "--outer-drop", 3)
    assert text.index("LEFT WHEEL") < text.index("RIGHT WHEEL")
    assert text.count("Fitted: outer drop 3 mm (1 x 2 + 1 x 1), rack raise 0 mm") == 2


def test_the_sheet_s_stacks_are_those_of_suggest(capsys):
    number_1 = suggest(read_car(BOTH_WHEELS))
    sheets = strictly_json(printed(capsys, BOTH_WHEELS, "--json"))
    for made, wheel, fitted in zip(
        sheets["wheels"], number_1.wheels, number_1.ranked[0].wheels, strict=True
    ):
        assert made["fit"].startswith(f"drop outer {fitted.outer_drop_mm:.1f} mm")
        assert [row["toe_change_deg"] for row in made["rows"]] == pytest.approx(
            [row.toe_change_deg for row in wheel.expected], abs=1e-6
        )


def test_a_part_met_between_the_first_places_is_told_beside_a_joint_that_binds_at_them():
    text = file_text(CASES.parent / "tests" / "limit-cases" / "bracket-passed-between.toml")
    # A little farther off than the joint comes to the bracket at any place looked at first.
    for typed, changed in (
        ("rack_travel = 70.0", "rack_travel = 62.0"),
        ("-159.18", "-161.58"),
        ("gap = 1.0", "gap = 0.0"),
        ("outer = { tilt_limit_deg = 60.0 }", "outer = { tilt_limit_deg = 5.0 }"),
    ):
        assert typed in text
        text = text.replace(typed, changed)
    case = case_from_toml(text, "a car")
    as_is = Fitted(side="left", outer_drop_mm=0.0, stack_mm=[], rack_raise_mm=0.0)
    answer = sheet(Vehicle((case,)), [as_is], "laser")
    assert {stop.kind for stop in answer.wheels[0].stops} == {"tilt", "gap"}
