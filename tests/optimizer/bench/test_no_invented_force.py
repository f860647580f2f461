"""No force or strength that nobody stated: no file ships a force, tables hold what was read."""

import re
from pathlib import Path

import pytest

from optimizer.files.case_file import read_case
from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import CASES, ROOT, answer_of, run

INCHES = CASES / "kit-car-inches.toml"
SHIPPED = [*CASES.glob("*.toml"), *(ROOT / "optimizer" / "files" / "starters").glob("*.toml")]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_no_case_and_no_starter_ships_a_force(path: Path):
    assert not re.search(r"(?m)^\s*#?\s*rod_force_n\s*=", path.read_text(encoding="utf-8"))


def test_without_a_stated_force_there_is_a_ratio_and_no_safety_factor(capsys):
    assert read_case(INCHES).stud.rod_force_n is None
    run("suggest", INCHES, "--json")
    answer = answer_of(SuggestResult, capsys.readouterr().out)
    (wheel,) = answer.ranked[0].wheels
    assert wheel.stud_safety_factor is None
    drop, seat = wheel.outer_drop_mm, 0.55 * 25.4
    assert wheel.stud_height_ratio == pytest.approx((seat + drop) / seat, rel=1e-9)
    (told,) = answer.wheels
    assert told.stud.rod_force_n is None
    run("suggest", INCHES, "--verbose")
    said = " ".join(capsys.readouterr().out.split())
    assert "No rod force is stated, so no safety factor is given." in said


def test_a_force_that_is_stated_still_makes_one(capsys, tmp_path):
    path = tmp_path / "stated.toml"
    grade = 'grade = "SAE J429 grade 8"\n'
    text = INCHES.read_text(encoding="utf-8").replace(grade, f"{grade}rod_force_n = 1000.0\n")
    path.write_text(text, encoding="utf-8")
    run("suggest", path, "--json")
    (wheel,) = answer_of(SuggestResult, capsys.readouterr().out).ranked[0].wheels
    assert wheel.stud_safety_factor == pytest.approx(wheel.stud_proof_force_n / 1000.0)
