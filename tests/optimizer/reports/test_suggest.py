"""What `suggest` prints, of one wheel and of two, with kits and without, against tests/golden.

The golden files have no source outside this project: they say that a report reads as it did when a
person last read it, not that its numbers are right.
"""

import re
from functools import cache
from pathlib import Path

import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import car_from_toml, read_car
from optimizer.files.kits import read_kits
from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_brief import brief_report
from optimizer.reports.terminal_parts import WIDTH
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.ranking import NOTHING_FITS
from tests.optimizer.two_sided_cars import (
    DEMO,
    DEMO_TEXT,
    ROOT,
    car_of,
    mirror_car_text,
    moved,
    with_tape,
)

WISHBONE = ROOT / "cases" / "track-wishbone.toml"
BLOCKED = """
[[obstacles]]
kind = "disc"
name = "in the way"
diameter = 500.0
inboard = -120.0
outboard = 10.0
"""


pytestmark = pytest.mark.usefixtures("no_terminal")


@cache
def answer_for(car: Path, *, kits: bool = False) -> SuggestResult:
    if not kits:
        return suggest(read_car(car))
    tried = read_kits(ROOT / "cases" / "kits.toml")
    return suggest(read_car(car), tried.kits, currency=tried.currency)


def words(text: str) -> str:
    """Text as a sentence is read, across the ends of lines."""
    return " ".join(text.split())


def told(text: str) -> str:
    """What is printed about the car of a case file's text."""
    return suggest_report(suggest(car_from_toml(text, "car")), "car.toml")


def scrubbed(report: str) -> str:
    return re.sub(r"[\d,]+ solved exactly", "N solved exactly", report)  # a matter of speed alone


def test_the_report_reads_as_it_did(any_demo_car, same_as_golden):
    report = suggest_report(answer_for(any_demo_car), f"cases/{any_demo_car.name}")
    same_as_golden(f"{any_demo_car.stem}.suggest.txt", scrubbed(report))


@pytest.mark.parametrize("car", [WISHBONE, DEMO], ids=["one wheel", "two"])
def test_the_report_of_kits_reads_as_it_did(car, same_as_golden):
    report = suggest_report(answer_for(car, kits=True), f"cases/{car.name}")
    same_as_golden(f"{car.stem}.kits.txt", scrubbed(report))


def test_a_name_with_colons_stands_in_the_table_as_it_was_typed():
    kits = read_kits(ROOT / "cases" / "kits.toml").kits
    kits = [kit.model_copy(update={"name": f"{kit.name} :car:"}) for kit in kits]
    report = brief_report(suggest(read_car(WISHBONE), kits), "car", "kits")
    assert "  Short tapered stud :car:  " in report


@pytest.mark.parametrize("kits", [False, True], ids=["own hardware", "kits"])
def test_no_report_is_wider_than_it_says_or_ends_a_line_with_blanks(any_demo_car, kits):
    report = suggest_report(answer_for(any_demo_car, kits=kits), any_demo_car.name)
    lines = report.splitlines()
    assert max(len(line) for line in lines) <= WIDTH
    assert lines == [line.rstrip() for line in lines]
    assert "nan" not in report.lower().split()


@pytest.mark.parametrize("car", [WISHBONE, DEMO], ids=["one wheel", "two"])
def test_every_kit_is_named_where_it_is_ranked_and_the_unbeaten_are_marked(car):
    answer = answer_for(car, kits=True)
    report = suggest_report(answer, "car.toml")
    rows = "".join(re.findall(r"(?ms)^What to fit, best first\n(.*?)^  (?:\*|Number)", report))
    for row in answer.ranked:
        first_word = re.escape((row.kit or ("leave" if car == WISHBONE else "none")).split()[0])
        mark = r"\*" if row.unbeaten else " "
        assert re.search(rf"(?m)^ +{row.rank}{mark} +{first_word}", rows)
    assert {row.unbeaten for row in answer.ranked} == {True, False}
    assert "* no setting of any kit that fits beats it on peak, effort" in words(report)


def test_no_column_of_the_ranking_of_two_wheels_is_cut_off():
    answer = answer_for(DEMO, kits=True)
    lines = suggest_report(answer, "car.toml").splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("What to fit"))
    end = next(k for k, line in enumerate(lines) if line.startswith("How each"))
    for row in answer.ranked:
        (line,) = (x for x in lines[start:end] if re.match(rf" +{row.rank}[* ] ", x))
        assert line.endswith(f" {min(wheel.clearance_mm for wheel in row.wheels):.1f}")


def test_a_setting_that_does_not_fit_is_told_with_what_stops_it_and_at_which_wheel():
    one = told(WISHBONE.read_text(encoding="utf-8") + BLOCKED)
    assert re.search(r"no: \S+( joint)? to in the\s+way touches by", one)
    both = words(told(DEMO_TEXT + BLOCKED.replace("[[obstacles]]", "[[right.obstacles]]")))
    assert re.search(r"Number 1 does not fit: right wheel: \S+( joint)? to in the way", both)
    assert "left wheel: " not in both.partition("What to fit")[2]
    for report in (words(one), both):
        assert "none of them keeps every limit." in report
        assert report.endswith(NOTHING_FITS)


def test_each_wheel_s_alignment_is_told_and_set_before_its_toe():
    report = words(told(DEMO_TEXT + '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'))
    assert report.count("The wanted alignment") == report.count("Align at ride height: ") == 1
    todo = report.partition("What to do next")[2]
    assert re.search(
        r"2\. Align at ride height: on the left shim both inner pivots of the upper arm \S+ mm "
        r"\w+; on the right shim both inner pivots of the upper arm \S+ mm \w+\. 3\. Reset toe",
        todo,
    )


def test_the_two_sided_report_of_a_rear_axle_knows_no_rack():
    rear = mirror_car_text((ROOT / "cases" / "five-link-rear.toml").read_text(encoding="utf-8"))
    text = with_tape(moved(rear, "right", "tie_rod_inner", (0.0, 0.0, 3.0)), 0.3)
    answer = suggest(car_of(text))
    report = suggest_report(answer, "rear.toml")
    assert answer.ranked[0].rack_raise_mm is None
    assert re.search(r"\brack\b", report) is None
    assert re.search(r"fit left +left peak +fit right", report)
    assert "The subframe is not level" in report
    assert "There is one" not in report


def test_what_stays_as_it_is_is_told_of_both_wheels():
    report = words(suggest_report(answer_for(DEMO), "car.toml"))
    camber = [wheel.side_effects.camber_deg.after for wheel in answer_for(DEMO).wheels]
    assert f"camber {camber[0]:+.2f} / {camber[1]:+.2f} deg" in report.partition("Unchanged: ")[2]


def test_a_car_left_as_it_is_has_no_side_effects_and_is_drawn_once():
    nothing = DEMO_TEXT.replace("max = 16.0", "max = 0.4").replace("[0.0, 2.0, 4.0]", "[0.0]")
    report = told(nothing)
    assert "on the left leave it as it is; on the right leave it as it is" in words(report)
    assert "What else it changes" not in report
    assert "With number 1: " not in report
    assert report.count("toe-out to the left, toe-in to the right") == 1
