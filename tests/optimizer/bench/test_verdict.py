"""`suggest` says first where it stands: what to fit and where, met or missed, what would meet it.

The cars are demo cars with invented wishes; every peak that is told is solved again here.
"""

import re
from pathlib import Path

import numpy as np
import pytest

from optimizer.car.adjust import linkage_choice
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.models.suggest import SuggestResult
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, answer_of, changed, printed, run

INCHES = CASES / "kit-car-inches.toml"
SAME_DEG = 1e-6


def verdict_of(capsys: pytest.CaptureFixture[str], path: Path, *options: object) -> SuggestResult:
    """The answer of a run; its exit code says what its verdict says."""
    code = run("suggest", path, *options, "--json")
    answer = answer_of(SuggestResult, capsys.readouterr().out)
    assert code == (0 if answer.verdict.meets else 1)
    return answer


def first_lines(capsys: pytest.CaptureFixture[str], path: Path) -> str:
    """Second paragraph of the report, across the ends of lines."""
    run("suggest", path, "--verbose")
    return " ".join(capsys.readouterr().out.lstrip("\n").split("\n\n")[1].split())


def solved_deg(path: Path, fitted: object, farther_mm: float = 0.0) -> float:
    """Peak of a setting of a left wheel, its inner pivot so far inboard, by the exact motion."""
    evaluator = Evaluator.of(read_case(path))
    settings = Settings(
        np.array([fitted.outer_drop_mm]),
        np.array([fitted.rack_raise_mm]),
        np.array([linkage_choice(evaluator.case, fitted.model_dump())]),
        inner_move=np.array([[0.0, -farther_mm, 0.0]]),
    )
    toe = evaluator.toe(settings, evaluator.travel)[0]
    change = toe - toe[evaluator.home] - evaluator.wanted
    return float(np.degrees(np.abs(change).max()))


def test_a_tolerance_that_is_met_is_said_first_with_where_the_stack_goes(capsys):
    found = verdict_of(capsys, WISHBONE).verdict
    assert (found.fits, found.meets, found.leave, found.ways_out) == (True, True, False, [])
    (wheel,) = found.wheels
    assert (wheel.outer_drop_mm, wheel.rack_raise_mm, wheel.of_arm) == (7.5, 4.0, "under")
    assert found.peak_deg == pytest.approx(solved_deg(WISHBONE, wheel), abs=SAME_DEG)
    assert found.missed_by_deg is None
    said = first_lines(capsys, WISHBONE)
    assert said.startswith("Fit drop outer 7.5 mm, raise rack 4.0 mm (spacer between steering arm")
    assert "the joint under the arm). Peak 0.037 deg, within the wanted 0.040 deg." in said


@pytest.mark.parametrize("path", [STRUT, INCHES], ids=["mm", "in"])
def test_a_miss_is_said_with_what_would_meet_it_and_the_program_ends_with_1(capsys, path):
    answer = verdict_of(capsys, path)
    found = answer.verdict
    assert found.fits
    assert not found.meets
    assert found.missed_by_deg == pytest.approx(found.peak_deg - answer.tolerance_deg)
    rod = next(way for way in found.ways_out if way.kind == "rod")
    (wheel,), (farther,) = rod.wheels, rod.longer_mm
    assert farther > 0.0
    assert rod.meets
    assert not rod.far
    assert rod.peak_deg < answer.tolerance_deg
    assert rod.peak_deg == pytest.approx(solved_deg(path, wheel, farther), abs=SAME_DEG)
    around = [solved_deg(path, wheel, farther + off) for off in (-3.0, 3.0)]
    assert rod.peak_deg < min(around)
    said = first_lines(capsys, path)
    least = min(row.peak_toe_change_deg for row in answer.ranked if row.fits)
    assert found.least_deg == pytest.approx(least, abs=SAME_DEG)
    assert found.least_deg <= found.peak_deg <= least + 0.01 + SAME_DEG
    assert " misses the wanted " in said
    assert "the best that this hardware can do is " in said
    assert re.search(
        r"What would meet it( but for a limit)?: .*the inner pivot [\d.]+ (mm|in) inboard with",
        said,
    )


@pytest.mark.parametrize("layout", ["beam-axle", "leaf-axle"])
def test_an_inner_pivot_a_hand_away_is_no_advice(capsys, tmp_path, layout):
    run("new", layout)
    path = tmp_path / "starter.toml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    found = verdict_of(capsys, path).verdict
    (rod,) = (way for way in found.ways_out if way.kind == "rod")
    points = read_case(path).points
    length = np.linalg.norm(np.subtract(points.drag_link_outer, points.drag_link_inner))
    assert abs(rod.longer_mm[0]) > 0.1 * length > 90.0
    assert rod.far
    said = first_lines(capsys, path)
    assert "What would meet it" not in said
    assert "Not enough by itself" not in said
    still = "" if rod.peak_deg <= found.tolerance_deg else ", and not enough"
    assert re.search(rf"Out of any hardware's reach{still}: the inner pivot 1\d\d\.\d mm ", said)
    assert "That is over a tenth of the drag link: look for a wrong point first" in said
    run("reach", path)
    assert not re.search(r"inner pivot \d", capsys.readouterr().out)


def test_one_shim_to_buy_is_told_before_all_else(capsys, tmp_path):
    path = tmp_path / "short-shelf.toml"
    text = changed(WISHBONE, r"^stack = .*", "")
    text = re.sub(r"^spacers = .*", "spacers = [0.0]", text, flags=re.M)
    text = re.sub(r"(?s)\[\[obstacles\]\].*?(?=\n\[(?!\[))", "", text)
    text = text.replace("[rack]", "[shelf]\nshims = [{ thickness = 10.0, count = 1 }]\n\n[rack]")
    path.write_text(text, encoding="utf-8")
    found = verdict_of(capsys, path).verdict
    assert not found.meets
    way = found.ways_out[0]
    assert (way.kind, way.meets, way.stops) == ("shim", True, [])
    (wheel,), (bought,) = way.wheels, way.shims_mm
    assert sorted(wheel.stack_mm) == sorted([10.0, bought])
    assert way.peak_deg == pytest.approx(solved_deg(path, wheel), abs=SAME_DEG)
    assert f"What would meet it: one {bought:g} mm shim more" in first_lines(capsys, path)


def test_what_can_be_built_but_breaks_a_limit_is_told_with_that_limit(capsys, tmp_path):
    path = tmp_path / "no-rack.toml"
    text = changed(WISHBONE, r"^spacers = .*", "spacers = [0.0]")
    path.write_text(text, encoding="utf-8")
    found = verdict_of(capsys, path).verdict
    assert not found.meets
    way = next(way for way in found.ways_out if way.kind == "limit")
    assert (way.meets, way.wheels[0].outer_drop_mm) == (True, 12.5)
    (stop,) = way.stops
    assert (stop.kind, stop.limit) == ("gap", 3.0)
    assert stop.short == pytest.approx(stop.limit - stop.value)


def test_where_nothing_fits_that_is_the_verdict(capsys, tmp_path):
    path = tmp_path / "binds.toml"
    limit = "outer = { tilt_limit_deg = 0.5 }"
    path.write_text(changed(WISHBONE, r"^outer = \{ tilt_limit_deg = .*", limit), encoding="utf-8")
    found = verdict_of(capsys, path).verdict
    assert (found.fits, found.meets, found.peak_deg) == (False, False, None)
    assert found.ways_out
    for way in found.ways_out:
        assert "tilt" in {stop.kind for stop in way.stops}
    assert first_lines(capsys, path).startswith("Nothing that can be built keeps every limit.")


def test_where_nothing_fits_and_nothing_would_meet_it_the_verdict_says_what_stops(capsys, tmp_path):
    """A starter truck whose lock is stated longer than its cross rod lets it steer."""
    run("new", "beam-axle")
    path = tmp_path / "long-lock.toml"
    text = capsys.readouterr().out.replace("#rack_travel = 60.0", "rack_travel = 90.0")
    path.write_text(text.replace("#[steering]", "[steering]"), encoding="utf-8")
    answer = verdict_of(capsys, path)
    found, first = answer.verdict, answer.ranked[0]
    assert found.peak_deg is None
    assert all(way.far for way in found.ways_out)
    assert found.stops == first.reasons
    assert [stop.kind for stop in found.stops] == ["lock"]
    assert sentence(found, Reader(answer.subject)).startswith(
        "Nothing that can be built keeps every limit: with number 1 the steering jams at pitman "
    )


@pytest.mark.parametrize("up", [-1.0, 1.0], ids=["stud down", "stud up"])
def test_the_side_of_the_arm_is_that_of_the_joint_whichever_way_the_stud_points(
    capsys, tmp_path, up
):
    path = tmp_path / "stud.toml"
    low = 0.0 if up < 0.0 else -25.0
    rest = f"stud_axis = [0.0, 0.0, {up}]\nstack = {{ min = {low}, max = {low + 25}, step = 0.5 }}"
    text = re.sub(r"(?m)^stud_axis = .*\n", "", WISHBONE.read_text(encoding="utf-8"))
    path.write_text(re.sub(r"(?m)^stack = .*", rest, text), encoding="utf-8")
    (wheel,) = verdict_of(capsys, path).verdict.wheels
    assert up * wheel.outer_drop_mm < 0.0, "this car wants its joint lower"
    assert wheel.of_arm == "under"


@pytest.mark.parametrize(("half", "meets"), [(0.2, True), (0.03, False)], ids=["wide", "narrow"])
def test_a_wanted_band_decides_where_there_is_one(capsys, tmp_path, half, meets):
    path = tmp_path / "band.toml"
    band = f"[aim]\nband = [[-60.0, {-half}, {half}], [50.0, {-half}, {half}]]"
    path.write_text(changed(STRUT, r"^\[aim\]", band), encoding="utf-8")
    answer = verdict_of(capsys, path)
    found, (wheel,) = answer.verdict, answer.ranked[0].wheels
    assert not wheel.meets_tolerance
    assert found.bands == [wheel.band]
    assert found.meets is wheel.band.within is meets
    where = "inside" if meets else "outside"
    assert f"from the middle of the wanted band; it is {where} the wanted band at" in first_lines(
        capsys, path
    )


@pytest.mark.parametrize(
    ("half", "said"),
    [
        (0.1, "both wheels are inside the wanted band at all 25 heights that it covers. Now"),
        (0.001, "the left wheel is outside the wanted band at"),
    ],
)
def test_each_wheel_is_held_against_a_wanted_band_and_said_once_where_both_do_alike(
    capsys, tmp_path, half, said
):
    path = tmp_path / "band.toml"
    band = f"[aim]\nband = [[-45.0, {-half}, {half}], [45.0, {-half}, {half}]]"
    text = changed(CASES / "two-sided-wishbone.toml", r"^\[aim\]", band)
    path.write_text(text, encoding="utf-8")
    assert f"from the middle of the wanted band; {said}" in printed(capsys, "suggest", path)
