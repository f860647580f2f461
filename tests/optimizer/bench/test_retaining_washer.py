"""A washer that keeps a failed rod end on its bolt costs tilt, by the sizes of washer and head."""

import json
import re

import numpy as np
import pytest

from geometry.tilt_limits import washer_tilt_limit
from optimizer.answers.suggest import suggest
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import read_car, read_case
from optimizer.files.kits import read_kits
from optimizer.limits.tilts import outer_tilt_limit_deg
from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import CASES, answer_of, changed, run

SALOON = CASES / "extended-strut.toml"  # ball 28.575 and 21 wide, race 15 wide, head 38 across
ANGLE_ATOL_DEG = 1e-9


def limit_deg(washer, housing, width=36.0, head=16.0):
    sizes = {"washer_diameter": washer, "housing_diameter": housing}
    return float(np.degrees(washer_tilt_limit(width, head, **sizes)))


def test_by_hand_the_edge_of_a_small_washer_meets_the_side_of_the_head():
    # Half of it: edge at (12, 9) is 15 from the center; the side is 7.5 away, half of that.
    by_hand = np.degrees(np.arcsin(9.0 / 15.0)) - 30.0
    assert limit_deg(24.0, np.inf, width=18.0, head=15.0) == pytest.approx(
        by_hand, abs=ANGLE_ATOL_DEG
    )


def test_by_hand_the_edge_of_a_small_head_meets_a_wide_washer():
    # Half of it: the head's edge at (12, 5) is 13 from the center; the washer is 6.5 away.
    by_hand = 30.0 - np.degrees(np.arcsin(5.0 / 13.0))
    assert limit_deg(80.0, 24.0, width=13.0, head=10.0) == pytest.approx(
        by_hand, abs=ANGLE_ATOL_DEG
    )


def test_a_head_that_passes_under_its_washer_is_not_stopped_by_it():
    assert limit_deg(80.0, 30.0) == pytest.approx(90.0)


@pytest.mark.parametrize("washer", [20.0, 30.0, 44.0, 70.0])
@pytest.mark.parametrize("housing", [34.0, 38.0, 50.0])
def test_two_rectangles_turned_step_by_step_touch_at_the_limit(washer, housing):
    half_width, half_head = 18.0, 8.0
    across = np.linspace(-1.0, 1.0, 2001)[:, None]
    step_deg = 0.01
    angle = np.radians(np.arange(0.0, 90.0, step_deg))
    side, along = 0.5 * housing * across, np.full_like(across, half_head)
    x = side * np.cos(angle) - along * np.sin(angle)
    y = side * np.sin(angle) + along * np.cos(angle)
    edge = 0.5 * washer
    # The washer seen from the turned head, and the head seen from the washer.
    u = edge * np.cos(angle) + half_width * np.sin(angle)
    v = half_width * np.cos(angle) - edge * np.sin(angle)
    meets = ((np.abs(x) <= edge) & (y >= half_width)).any(axis=0)
    meets |= (np.abs(u) <= 0.5 * housing) & (v <= half_head)
    first = float(np.degrees(angle[meets.argmax()])) if meets.any() else 90.0
    assert limit_deg(washer, housing) == pytest.approx(first, abs=2.0 * step_deg)


def test_suggest_heeds_the_washer_and_says_what_it_leaves(capsys, tmp_path):
    plain = re.sub(r"(?m)^(neck|width_over|shoulder|head)\w* *=.*\n", "", SALOON.read_text("utf-8"))
    told = []
    for name, washer in (("bare", ""), ("kept", "retaining_washer = 44.0\n")):
        path = tmp_path / f"{name}.toml"
        path.write_text(plain.replace("[joint]\n", f"[joint]\n{washer}"), encoding="utf-8")
        run("suggest", path, "--json")
        answer = answer_of(SuggestResult, capsys.readouterr().out)
        told.append(({w.outer_drop_mm: w for r in answer.ranked for w in r.wheels}, path))
    (free, _), (kept, path) = told
    ball, head = 28.575, np.hypot(38.0, 15.0)  # the washer is wider than the head
    limits = [np.degrees(np.arcsin(21.0 / m) - np.arcsin(15.0 / m)) for m in (ball, head)]
    assert outer_tilt_limit_deg(read_case(path).joint) == pytest.approx(
        limits[1], abs=ANGLE_ATOL_DEG
    )
    shared = free.keys() & kept.keys()
    assert shared
    for drop in shared:
        lost = free[drop].tilt_margin_deg - kept[drop].tilt_margin_deg
        assert lost == pytest.approx(limits[0] - limits[1], abs=0.02)  # each is told to 0.01 deg


def test_a_washer_beside_a_makers_figure_asks_for_the_sizes(capsys, tmp_path):
    path = tmp_path / "unplaced.toml"
    inches = CASES / "kit-car-inches.toml"
    text = changed(inches, r"^\[joint\]", "[joint]\nretaining_washer = 1.5")
    path.write_text(text, encoding="utf-8")
    assert run("suggest", path) == 2
    err = capsys.readouterr().err
    assert "joint.retaining_washer" in err
    assert "ball_width, race_width and ball_diameter" in err


def test_a_washer_is_not_forgotten_beside_a_kit_that_states_a_makers_figure(capsys, tmp_path):
    path, kits = tmp_path / "kept.toml", tmp_path / "kits.toml"
    text = SALOON.read_text("utf-8").replace("[joint]\n", "[joint]\nretaining_washer = 44.0\n")
    path.write_text(text, encoding="utf-8")
    kits.write_text(
        'format = 1\nunits = "mm"\n[[kits]]\nname = "plain"\nseat = "tapered"\n'
        "stack = { min = 0.0, max = 8.0, step = 1.0 }\nrod_end = { tilt_limit_deg = 14.0 }\n",
        encoding="utf-8",
    )
    assert run("suggest", path, "--kits", kits) == 2
    err = capsys.readouterr().err
    assert 'kit "plain": rod_end must state the sizes of its ball' in err


def test_kits_that_washers_leave_unjudged_are_all_named_and_the_others_run(capsys, tmp_path):
    path = tmp_path / "kept.toml"
    text = SALOON.read_text("utf-8").replace("[joint]\n", "[joint]\nretaining_washer = 44.0\n")
    path.write_text(text, encoding="utf-8")
    code = run("suggest", path, "--kits", CASES / "kits.toml", "--json")
    printed = capsys.readouterr()
    assert code in (0, 1)
    kits = {kit.name for kit in answer_of(SuggestResult, printed.out).kits}
    assert kits == {"Washer set on the standard stud", "Straight bolt, small rod end"}
    unjudged = [kit for kit in read_kits(CASES / "kits.toml").kits if kit.name not in kits]
    assert all(f'"{kit.name}"' in printed.err.splitlines()[0] for kit in unjudged)
    assert "used are Washer set on the standard stud, Straight bolt, small rod end" in printed.err
    with pytest.raises(PivotwrightError, match=r'"Short tapered stud", .*: rod_end must state'):
        suggest(read_car(path), unjudged)


def test_a_screening_leaves_out_such_a_kit_on_such_a_car_alone(tmp_path, capsys):
    path, kits, kept = tmp_path / "kept.toml", tmp_path / "kits.toml", tmp_path / "kept"
    text = SALOON.read_text("utf-8").replace("[joint]\n", "[joint]\nretaining_washer = 44.0\n")
    path.write_text(text, encoding="utf-8")
    row = '[[kits]]\nname = "{}"\nseat = "tapered"\n'
    row += "stack = {{ min = 0.0, max = 25.0, step = 1.0 }}\nrod_end = {}\n"
    figure = row.format("figure", "{ tilt_limit_deg = 25.0 }")
    plain = row.format("plain", "{ housing_diameter = 40.0 }")
    kits.write_text(f'format = 1\nunits = "mm"\n{figure}{plain}', encoding="utf-8")
    asked = ("--kits", kits, "--heights", "0:30:30", "--to", kept, "--workers", "1")
    assert run("screen", path, SALOON, *asked, "--json") == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["cars"], told["rows"], told["refused"]) == (2, 8, [])
    assert [kit["stopped_by"].get("unjudged", 0) for kit in told["kits"]] == [2, 0]
    assert run("screen", path, SALOON, *asked) == 1
    printed = capsys.readouterr()
    assert "2 cars are in" in printed.err
    assert "1. figure: not judged beside retaining washers" in printed.out
    kits.write_text(f'format = 1\nunits = "mm"\n{figure}', encoding="utf-8")
    assert run("screen", path, *asked[:-3], tmp_path / "other", "--workers", "1") == 2
    err = capsys.readouterr().err
    assert f'{path.as_posix()}: kit "figure": rod_end must state the sizes of its ball' in err
