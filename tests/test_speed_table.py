"""The table of speeds in DEVELOPERS.md: what a run writes there, and which goals it misses."""

from pathlib import Path

import pytest

from .benchmarks.speed_table import PLACE, lines, missed, written_into

ROWS = [
    ("poses a second", "133,199 /s", ">= 50,000 /s"),
    ("  of the other", "639 /s", ""),
    ("a program", "3.46", "<= 2.2"),
    ("memory", "153 MB", "< 400 MB"),
    ("memory again", "400 MB", "< 400 MB"),
    ("candidates", "93.8 M /s", ">= 120 M"),
]


def test_goals_are_judged_by_their_sign():
    assert missed(ROWS) == ["a program", "memory again", "candidates"]


def test_figures_stand_below_each_other():
    first, second, *_ = lines(ROWS)
    assert first == "poses a second  133,199 /s  goal >= 50,000 /s"
    assert second == "  of the other      639 /s"


def test_a_run_takes_the_place_of_the_one_before_and_leaves_the_rest():
    page = "# A\n<!-- one run of the benchmarks -->\nold\n<!-- end of the run -->\nrest\n"
    once = written_into(page, ROWS, "Version 1:")
    assert once.startswith("# A\n<!-- one run of the benchmarks -->\nVersion 1:\n\n```\n")
    assert once.endswith("- candidates\n<!-- end of the run -->\nrest\n")
    assert "old" not in once
    assert written_into(once, ROWS, "Version 1:") == once
    assert "Every goal is met." in written_into(page, ROWS[:2], "Version 1:")


def test_a_page_without_a_place_is_refused():
    with pytest.raises(ValueError, match="one place for the table"):
        written_into("# A\n", ROWS, "Version 1:")


def test_the_developers_page_has_one_place_for_a_run():
    page = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert len(PLACE.findall(page)) == 1
