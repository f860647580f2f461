"""What one command tells to do next, the next command does: of the same setting, kit and limits."""

import pytest

from optimizer.models.sheet import Sheet
from optimizer.models.suggest import SuggestResult
from optimizer.wording.odds import percent
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, answer_of, changed, printed, run

KITS = CASES / "kits.toml"
TWO_SIDED = CASES / "two-sided-wishbone.toml"


def answer(capsys, command, result, *arguments):
    run(command, *arguments, "--json")
    return answer_of(result, capsys.readouterr().out)


@pytest.mark.parametrize("asked", [["--kits", KITS], ["--rank-by", "expected"]])
def test_the_sheet_that_suggest_names_is_of_its_number_1(capsys, asked):
    found = answer(capsys, "suggest", SuggestResult, WISHBONE, *asked)
    said = printed(capsys, "suggest", WISHBONE, *asked, "--quiet")
    named = [str(one) for one in (WISHBONE, *asked)]
    assert f"`pivotwright sheet {' '.join(named)}` prints" in said
    sheet = answer(capsys, "sheet", Sheet, *named)
    (wheel,), (first,) = sheet.wheels, found.first.wheels
    assert wheel.fit.fitted.outer_drop_mm == first.outer_drop_mm
    assert wheel.fit.fitted.rack_raise_mm == first.rack_raise_mm
    assert wheel.fit.kit == found.first.kit
    assert [row.toe_change_deg for row in wheel.rows] == pytest.approx(
        [row.toe_change_deg for row in found.wheels[0].expected]
    )
    assert wheel.stops == []


def test_a_sheet_of_a_kit_is_of_its_stud(capsys):
    own, of_kit = (
        printed(capsys, "sheet", WISHBONE, *more, "--text") for more in ([], ["--kits", KITS])
    )
    assert "Short tapered stud: drop outer 10.0 mm" in of_kit
    assert "Stud in a tapered seat" in of_kit
    assert "Stud in a tapered seat" not in own


def test_kits_and_a_stack_that_is_named_are_not_both_taken(capsys):
    assert run("sheet", WISHBONE, "--kits", KITS, "--outer-drop", 5) == 2
    assert "leave out --outer-drop" in capsys.readouterr().err


def test_a_sheet_says_what_breaks_a_limit(capsys):
    assert run("sheet", WISHBONE, "--outer-drop", 12.5, "--text") == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "With that, rod to 15 inch rim leaves 2.0 mm at 40.0 mm bump" in said
    assert "With that," not in printed(capsys, "sheet", WISHBONE, "--text")


def test_what_settles_or_is_aligned_is_told_with_the_next_step(capsys, tmp_path):
    settles, aligned = tmp_path / "settles.toml", tmp_path / "aligned.toml"
    settles.write_text(changed(STRUT, r"^(lowered_by.*)", r"\1\nsettles_by = 10.0"), "utf-8")
    for command in (["suggest", settles, "--quiet"], ["sheet", settles, "--text"]):
        assert "Set this wheel's toe to +0.056 deg now" in printed(capsys, *command)
    wish = '\n[alignment]\nby = "strut-top"\ncamber_deg = -2.5\ncaster_deg = 4.5\nmost = 15.0\n'
    aligned.write_text(STRUT.read_text(encoding="utf-8") + wish, encoding="utf-8")
    said = printed(capsys, "suggest", aligned, "--quiet")
    assert "Next: at ride height slide the strut top 8.5 mm inboard and 8.5 mm rearward" in said
    assert "So aligned, but otherwise as it is, the car peaks at" in said


def test_how_sure_two_wheels_are_is_said_of_both(capsys):
    found = answer(capsys, "suggest", SuggestResult, TWO_SIDED).first.chances
    said = printed(capsys, "suggest", TWO_SIDED, "--quiet")
    told = f"below {found.peak_95_deg:.3f} deg with 95 % probability and stays within 0.050 deg"
    assert f"{told} with {percent(found.meets_tolerance_probability)}" in said


def test_what_would_meet_it_names_its_kit(capsys, tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(changed(WISHBONE, r"^tolerance_deg = 0.04", "tolerance_deg = 0.028"), "utf-8")
    found = answer(capsys, "suggest", SuggestResult, path, "--kits", KITS)
    kits = {one.name for one in found.kits}
    said = printed(capsys, "suggest", path, "--kits", KITS, "--verbose")
    assert found.verdict.ways_out
    for way in found.verdict.ways_out:
        if way.kind in ("listed", "limit"):
            assert way.kit in kits
            assert f"{way.kit}: drop outer" in said
        else:  # no kit builds that
            assert way.kit is None


def test_where_possible_cars_rank_no_least_peak_is_claimed(capsys):
    for shown in (1, 6):
        said = printed(capsys, "suggest", WISHBONE, "--rank-by", "expected", "--show", shown)
        assert "the best that this hardware can do" not in said
    found = answer(capsys, "suggest", SuggestResult, WISHBONE, "--rank-by", "expected")
    assert found.verdict.least_deg is None
    (limit,) = (way for way in found.verdict.ways_out if way.kind == "limit")
    assert {stop.kind for stop in limit.stops} == {"chance"}
    assert limit.wheels[0].outer_drop_mm == 7.5  # what the car as measured puts first


def test_a_pivot_made_to_measure_says_what_it_does_to_bends_and_turns(capsys):
    found = answer(capsys, "suggest", SuggestResult, STRUT, "--custom")
    cost = found.custom.wheels[0].steering
    assert [(x.kind, x.rack_travel_mm) for x in cost.worsened] == [
        ("steered", -31.0),
        ("turn", 62.0),
    ]
    assert cost.worsened[0].after_deg > cost.worsened[0].before_deg + found.tolerance_deg
    assert cost.turn_toe_out[-1].after_deg < 0.0 < cost.turn_toe_out[-1].before_deg
    said = printed(capsys, "suggest", STRUT, "--custom")
    assert "1.36 deg less at 62.0 mm of rack travel (now 2.36 deg more)" in said
    assert "turns round which wheel of a turn is steered farther" in said
    assert "by 0.495 deg in place of 0.150 deg" in said


def test_sizes_that_no_wheel_has_are_doubted(capsys, tmp_path):
    path = tmp_path / "car.toml"
    text = changed(STRUT, r"^inside_diameter = 402.0", "inside_diameter = 702.0")
    text = text.replace("diameter = 300.0", "diameter = 900.0", 1)
    path.write_text(text.replace("camber_deg = -1.5", "camber_deg = -15.0"), encoding="utf-8")
    said = printed(capsys, "check", path)
    assert "obstacles[1]: is 702 mm across, no less than the tire, 636 mm" in said
    assert "obstacles[2]: is 900 mm across, no less than the tire, 636 mm" in said
    assert "across" not in printed(capsys, "check", STRUT)


def test_a_kit_of_which_nothing_is_fitted_is_not_sold(capsys, tmp_path):
    kits = tmp_path / "kits.toml"
    washers = 'name = "Washers"\nseat = "tapered"\nstack = { min = 0.0, max = 40.0, step = 40.0 }\n'
    kits.write_text(f'format = 1\nunits = "mm"\n[[kits]]\n{washers}', encoding="utf-8")
    first = answer(capsys, "suggest", SuggestResult, WISHBONE, "--kits", kits).first
    assert (first.kit, first.kit_idle, first.wheels[0].outer_drop_mm) == ("Washers", True, 0.0)
    assert first.rack_raise_mm
    for depth in ("--quiet", "--verbose"):
        said = printed(capsys, "suggest", WISHBONE, "--kits", kits, depth)
        assert "(nothing of Washers is needed)." in said
        assert "Fit Washers" not in said
    assert "Washers" not in printed(capsys, "sheet", WISHBONE, "--kits", kits, "--text")
