"""What is fitted to the linkage can be asked of every command, of every case."""

import re

import pytest

from optimizer.models.curve import CurveResult
from optimizer.models.sheet import Sheet
from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import CASES, WISHBONE, answer_of, run

BEAM, LEAF = CASES / "lifted-beam-axle.toml", CASES / "lifted-leaf-axle.toml"
EXTENDED, KITS = CASES / "extended-strut.toml", CASES / "kits.toml"


def answer(capsys, command, result, *arguments):
    assert run(command, *arguments, "--json") in (0, 1)
    return answer_of(result, capsys.readouterr().out)


def options_of(wheel):
    """Options that ask for what is fitted to a wheel."""
    named = {
        "--outer-drop": wheel.outer_drop_mm,
        "--rack-raise": wheel.rack_raise_mm,
        "--ball-joint-drop": wheel.ball_joint_drop_mm,
        "--frame-bracket-raise": wheel.frame_bracket_raise_mm,
        "--axle-bracket-raise": wheel.axle_bracket_raise_mm,
        "--lift-block": wheel.lift_block_mm,
        "--shackle-longer": wheel.shackle_longer_mm,
    }
    return [str(part) for pair in named.items() if pair[1] for part in pair]


@pytest.mark.parametrize("case", [BEAM, LEAF, EXTENDED])
def test_curve_and_sheet_of_what_is_suggested_are_of_its_curve(case, capsys):
    found = answer(capsys, "suggest", SuggestResult, case)
    (wheel,), (told,) = found.first.wheels, found.wheels
    asked = options_of(wheel)
    (curve,) = answer(capsys, "curve", CurveResult, case, *asked).wheels
    toe = dict(zip(curve.travel_mm, curve.toe_deg, strict=True))
    for row in told.expected:
        if row.travel_mm in toe:
            assert toe[row.travel_mm] - toe[0.0] == pytest.approx(row.toe_change_deg, abs=1e-9)
    (sheet,) = answer(capsys, "sheet", Sheet, case, *asked).wheels
    assert [row.toe_change_deg for row in sheet.rows] == pytest.approx(
        [row.toe_change_deg for row in told.expected], abs=1e-12
    )


def test_a_sheet_may_be_of_what_no_case_lists(capsys):
    (sheet,) = answer(capsys, "sheet", Sheet, BEAM, "--frame-bracket-raise", "-33").wheels
    assert sheet.fit.fitted.frame_bracket_raise_mm == -33.0
    run("sheet", BEAM, "--frame-bracket-raise", "-33", "--text")
    assert "lateral link's frame bracket lowered 33.0" in capsys.readouterr().out
    run("sheet", EXTENDED, "--ball-joint-drop", "20", "--text")
    assert "lower ball joint 20.0" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("case", "option", "missing"),
    [
        (WISHBONE, "--frame-bracket-raise", "lateral link of an axle"),
        (BEAM, "--ball-joint-drop", "lower ball joint"),
        (BEAM, "--lift-block", "leaf spring"),
        (CASES / "five-link-front.toml", "--ball-joint-drop", "lower ball joint"),
    ],
)
@pytest.mark.parametrize("command", ["curve", "sheet"])
def test_a_part_that_a_layout_has_not_is_refused(command, case, option, missing, capsys):
    assert run(command, case, option, "3") == 2
    assert missing in capsys.readouterr().err


def test_a_kit_is_laid_over_with_the_brackets_that_it_is_best_with(capsys, tmp_path):
    name = "Fixed kit"
    kits = tmp_path / "kits.toml"
    kits.write_text(
        f'format = 1\nunits = "mm"\n[[kits]]\nname = "{name}"\n'
        'seat = "straight-bolt"\nstack = { min = -40.0, max = 10.0, step = 5.0 }\n'
    )
    (best,) = answer(capsys, "suggest", SuggestResult, BEAM, "--kits", kits).first.wheels
    assert best.frame_bracket_raise_mm or best.axle_bracket_raise_mm
    with_kit = answer(capsys, "curve", CurveResult, BEAM, "--kits", kits, "--with", name)
    of_kit = with_kit.others[0].curve.setting
    assert of_kit.frame_bracket_raise_mm == best.frame_bracket_raise_mm
    assert of_kit.axle_bracket_raise_mm == best.axle_bracket_raise_mm
    assert of_kit.rack_raise_mm == best.rack_raise_mm


def test_a_kit_that_sets_two_rear_wheels_apart_is_not_laid_over(capsys, tmp_path):
    text = (CASES / "five-link-rear.toml").read_text(encoding="utf-8")
    points = text[text.index("[points]") : text.index("[car]")]
    right = re.sub(r"(= \[ *-?[\d.]+, *)([\d.]+)", r"\1-\2", points)
    both = points.replace("[points]", "[left.points]") + right.replace("[points]", "[right.points]")
    case = tmp_path / "both.toml"
    case.write_text(text.replace(points, both), encoding="utf-8")
    assert run("curve", case, "--kits", KITS, "--with", "Short tapered stud") == 2
    assert "is set at each wheel by itself" in capsys.readouterr().err


def test_a_block_and_a_shackle_that_no_case_lists_may_have_been_swept_with(capsys, tmp_path):
    sweep = tmp_path / "sweep.toml"
    sweep.write_text(
        'format = 1\nunits = "mm"\nkind = "angle"\nouter_drop = 0.0\nrack_raise = 0.0\n'
        "lift_block = 22.0\nshackle_longer = 4.0\n"
        "readings = [[50, -0.3], [25, -0.15], [0, 0], [-25, 0.15], [-50, 0.3]]\n"
    )
    assert run("gauge", LEAF, sweep) == 0
    assert "lift block 22" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("across", "doubted"),
    [(290.0, True), (580.0, False), (455.0, False), (60.0, True), (1000.0, True)],
)
def test_a_diameter_that_toe_is_hardly_taken_across_is_doubted(across, doubted, capsys, tmp_path):
    path = tmp_path / "car.toml"
    text = WISHBONE.read_text(encoding="utf-8")
    path.write_text(f'{text}\n[display]\ntoe_unit = "mm"\ndiameter = {across}\n')
    assert run("check", path) == 0
    assert ("toe is taken across the tire" in capsys.readouterr().out) == doubted
