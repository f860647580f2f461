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
from optimizer.models.sheet import Sheet
from optimizer.models.together import GaugeOfBothSides, SheetOfBothSides

from .command_line import ROOT, changed, process, run, strictly_json
from .two_sided_cars import ANGLE_ATOL_DEG, DEMO, MIRRORED, car_of, moved

WIDTH = 100
TRIALS = {"suggest": ["--trials", "2"]}


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


# --- reports

REPORTS = {
    "suggest": ["suggest", "--trials", "2"],
    "kits": ["suggest", "--kits", "cases/kits.toml", "--trials", "2"],
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


def test_suggest_tells_one_rack_height_and_a_stack_for_each_wheel(capsys):
    out = " ".join(printed(capsys, "suggest", DEMO, "--trials", 2).split())
    fit = re.search(r"Fit left: (.*?); right: (.*?)\. There is one rack", out)
    assert [re.search(r"raise rack \d\.\d mm", wheel)[0] for wheel in fit.groups()] == [
        "raise rack 2.0 mm"
    ] * 2
    assert out.count("puts the stud in single shear") == 1
    assert "pairs; none that fits has both wheels peak below" in out


# --- mistakes


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["suggest", DEMO, "--custom"], "custom_pivot  must be given"),
    ],
)
def test_what_makes_no_sense_for_these_wheels_is_refused(capsys, arguments, words):
    assert run(*arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert "Traceback" not in err


def test_suggest_ends_with_1_where_no_pair_fits(tmp_path):
    path = tmp_path / "binds.toml"
    path.write_text(changed(DEMO, "^outer = .*", "outer = { tilt_limit_deg = 0.5 }"))
    ended = process("suggest", path, "--trials", 2)
    assert (ended.returncode, ended.stderr) == (1, "")
    assert "keeps every limit on both wheels" in ended.stdout
