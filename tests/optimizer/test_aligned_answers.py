"""What the answers are once a camber and a caster are set, and what can't be set."""

from typing import Any

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.answers.kit_ranking import suggest_kits
from optimizer.answers.plausibility import check
from optimizer.answers.reach import reach
from optimizer.answers.sheet import sheet
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.adjust import Settings, corner_of
from optimizer.car.alignment import AlignmentError, aligned_case, alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.ride_heights import RideHeights
from optimizer.files.kits import read_kits
from optimizer.files.readings_file import read_readings
from optimizer.gauge.loop import gauge
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.options.study.search import StudyPlan

from .command_line import CASES, changed, everything_in, run
from .wished_cars import (
    BOLT,
    EXTENDED,
    NAMES,
    STRUT,
    WISHES,
    measured,
    moved_car,
    static_toe_deg,
    wishing,
)

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
# SciPy leaves up to 1e-9 mm open.
SAME_TOE_ATOL_DEG = 1e-9

FEW = SuggestPlan(StudyPlan(trials=4))


@pytest.fixture(params=WISHES, ids=NAMES)
def wished(request: pytest.FixtureRequest) -> Case:
    """A demo car with an alignment asked for, in turn."""
    return wishing(*request.param)


# --- what follows


def test_rod_and_height_stay_as_measured_until_toe_is_reset(wished):
    aligned = aligned_case(wished)
    before, now = corner_of(wished), corner_of(aligned)
    lengths = [np.linalg.norm(corner.outer_seat - corner.inner) for corner in (before, now)]
    assert lengths[1] == pytest.approx(lengths[0], rel=0.0, abs=LENGTH_ATOL_MM)
    assert aligned.points.wheel_center[2] == pytest.approx(
        wished.points.wheel_center[2], rel=0.0, abs=LENGTH_ATOL_MM
    )
    assert aligned.ride.lowered_by == wished.ride.lowered_by
    assert aligned.points.tie_rod_inner == wished.points.tie_rod_inner
    kept = curve(wished, CurveRequest(keep_rod_length=True))
    home = kept.travel_mm.index(0.0)
    posed = moved_car(wished).pose(wished.ride.lowered_by, rod=lengths[0])
    assert kept.toe_deg[home] == pytest.approx(posed.toe_deg, rel=0.0, abs=SAME_TOE_ATOL_DEG)
    reset = curve(wished).tie_rod_length_change_mm
    by_hand = moved_car(wished).pose(wished.ride.lowered_by, toe_deg=static_toe_deg(wished))
    assert reset == pytest.approx(by_hand.rod_length - lengths[0], rel=0.0, abs=1e-7)


def distances(points: list[Any]) -> Any:
    placed = np.array(points)
    return np.linalg.norm(placed[:, None] - placed, axis=-1)


@pytest.mark.parametrize(
    "wish", [wish for path, wish in WISHES if path == EXTENDED], ids=lambda wish: wish["by"]
)
def test_parts_around_go_along_with_what_carries_them(wish):
    case = wishing(EXTENDED, wish)
    before, now = (
        {part.kind: part for part in one.obstacles} | one.points.model_dump()
        for one in (case, aligned_case(case))
    )
    rigid = [
        ["wheel_center", "tie_rod_outer", "lower_ball_joint", ("link", "start")],
        ["lower_arm_rear", "lower_arm_front", "lower_ball_joint", ("tube", "start")],
        ["lower_arm_rear", "lower_arm_front", ("tube", "start"), ("tube", "end")],
    ]
    for body in rigid:
        placed = [
            [one[at] if isinstance(at, str) else getattr(one[at[0]], at[1]) for at in body]
            for one in (before, now)
        ]
        np.testing.assert_allclose(*map(distances, placed), rtol=0.0, atol=1e-8)
    held = [[part["link"].end, *part["link"].bar_axis] for part in (before, now)]
    np.testing.assert_allclose(*map(distances, held), rtol=0.0, atol=1e-8)
    rods = [distances([part["link"].start, part["link"].end]) for part in (before, now)]
    np.testing.assert_allclose(*rods, rtol=0.0, atol=1e-8)
    assert before["link"].end != now["link"].end
    assert before["plane"] == now["plane"]


def test_every_answer_is_that_of_the_aligned_car():
    case = wishing(*WISHES[0])
    aligned = aligned_case(case)
    assert aligned.alignment is None
    assert Evaluator.of(case).case == aligned
    assert RideHeights.of(case, np.array([40.0])).case == aligned
    for answer in (
        lambda one: suggest(one, FEW),
        lambda one: suggest_kits(one, read_kits(CASES / "kits.toml"), FEW),
        curve,
        lambda one: gauge(one, [read_readings(CASES / "readings" / "lowered-strut.toml")]),
    ):
        one, other = answer(case), answer(aligned)
        assert other.alignment is None
        assert one.alignment.what_to_move == alignment_of(case)[1].what_to_move
        assert one.model_copy(update={"alignment": None}) == other


def test_the_sheet_says_which_alignment_to_set():
    case = wishing(*WISHES[0])
    made = sheet(case, Settings.single(), "nothing", "two-dial")
    plain = sheet(aligned_case(case), Settings.single(), "nothing", "two-dial")
    assert made.rows == plain.rows
    assert [line for line in made.prepare if line not in plain.prepare] == [
        "Alignment at that height: camber -2.50 deg, caster 4.50 deg (slide the strut top 8.5 mm "
        "inboard and 8.5 mm rearward from where measured)."
    ]


def test_a_check_tells_what_must_be_moved_and_judges_the_points_as_measured():
    case = wishing(*WISHES[0])
    found, plain = check(case), check(measured(case))
    assert found.facts == plain.facts
    assert found.alignment == curve(case).alignment
    assert [doubt.location for doubt in found.doubts if doubt not in plain.doubts] == [
        "alignment.most"
    ]
    stated = wishing(STRUT, WISHES[0][1] | {"most": 10.0})
    assert check(stated).doubts == plain.doubts


@pytest.mark.parametrize("kits", [(), tuple(read_kits(CASES / "kits.toml").kits[:2])])
def test_the_alignment_is_set_anew_at_every_ride_height(kits):
    case = wishing(*WISHES[0])
    found = reach(case, [0.0, 20.0, 40.0], kits)
    each = len(kits) or 1
    assert len(found.heights) == 3 * each
    for row in found.heights:
        there = wishing(*WISHES[0], lowered_by=row.lowered_by_mm)
        alone = reach(aligned_case(there), [row.lowered_by_mm], kits).heights
        same = next(one for one in alone if one.kit == row.kit)
        assert row.model_copy(update={"alignment": None}) == same
        assert row.camber_deg == pytest.approx(-2.5, rel=0.0, abs=ANGLE_ATOL_DEG)
        assert row.caster_deg == pytest.approx(4.5, rel=0.0, abs=ANGLE_ATOL_DEG)
        of_curve = curve(case, CurveRequest(lowered_by=row.lowered_by_mm)).alignment
        assert row.alignment.moved == of_curve.moved
    moves = {row.alignment.moved[0].by_mm for row in found.heights}
    assert len(moves) == 3


def test_heights_at_which_the_part_does_not_go_far_enough_are_out_of_reach():
    case = wishing(STRUT, WISHES[0][1] | {"most": 10.0})
    found = reach(case, [20.0, 40.0]).heights
    assert [row.blocked_by[:1] == ["alignment"] for row in found] == [True, False]
    assert not found[0].reachable
    assert found[0].camber_deg is None
    (reason,) = found[0].reasons
    assert reason.startswith("alignment.most must be enough for camber -2.5 deg and caster 4.5 deg")


# --- what can't be


REFUSED = [
    (
        STRUT,
        {"by": "strut-top", "camber_deg": -5.0, "most": 12.0},
        "alignment.most",
        r"must be enough for camber -5 deg, got 12 mm\n\(that takes: slide the strut top "
        r"36\.5 mm inboard;\nno farther than 12 mm gives camber -2\.82 deg and caster 3\.69 deg\)",
    ),
    (
        STRUT,
        {"by": "strut-bolts", "camber_deg": -5.0, "bolt": BOLT, "most_deg": 2.0},
        "alignment.most_deg",
        r"must be enough for camber -5 deg, got 2 deg\n\(that takes: turn the upright 4\.50 deg",
    ),
    (
        STRUT,
        {"by": "lower-arm", "camber_deg": -15.0},
        "alignment.camber_deg",
        r'must be an angle that "lower-arm" can set, got camber -15 deg\n\(it comes no nearer than '
        r"camber -10\.\d+ deg and caster 3\.\d+ deg:\nshim both inner pivots",
    ),
]


@pytest.mark.parametrize(("path", "wish", "where", "words"), REFUSED)
def test_what_the_part_can_not_give_is_refused_with_numbers(path, wish, where, words):
    with pytest.raises(AlignmentError, match=words) as refusal:
        aligned_case(wishing(path, wish))
    assert refusal.value.fault.location == where


@pytest.mark.parametrize("command", ["suggest", "curve", "check", "sheet"])
def test_a_command_refuses_an_alignment_out_of_reach_and_says_where(tmp_path, capsys, command):
    path = tmp_path / "car.toml"
    wish = '[alignment]\nby = "strut-top"\ncamber_deg = -5.0\nmost = 12.0\n'
    path.write_text(STRUT.read_text(encoding="utf-8") + wish, encoding="utf-8")
    assert run(command, path) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "  alignment.most  must be enough for camber -5 deg, got 12 mm\n" in err


def test_an_alignment_of_a_car_that_can_not_stand_so_low_blames_the_height(tmp_path, capsys):
    path = tmp_path / "car.toml"
    wish = '[alignment]\nby = "strut-top"\ncamber_deg = -2.0\n'
    path.write_text(changed(STRUT, r"^lowered_by = .*", "lowered_by = 395.0") + wish)
    assert run("check", path) == 2
    assert "ride.lowered_by  must leave a linkage that can be joined" in capsys.readouterr().err


def test_what_the_readings_correct_is_never_written_over_the_measured_points(tmp_path, capsys):
    path = tmp_path / "car.toml"
    wish = '[alignment]\nby = "strut-top"\ncamber_deg = -2.0\n'
    path.write_text(STRUT.read_text(encoding="utf-8") + wish, encoding="utf-8")
    before = everything_in(tmp_path)
    readings = CASES / "readings" / "lowered-strut.toml"
    assert run("gauge", path, readings, "--write", tmp_path / "new.toml") == 2
    assert "--write: the case has an [alignment]" in capsys.readouterr().err
    assert run("gauge", path, readings, "--write", path, "--overwrite") == 2
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize("command", ["suggest", "curve", "check", "gauge", "reach", "sheet"])
def test_reports_say_what_must_be_moved(tmp_path, capsys, command):
    path = tmp_path / "car.toml"
    wish = '[alignment]\nby = "strut-top"\ncamber_deg = -2.5\ncaster_deg = 4.5\n'
    path.write_text(STRUT.read_text(encoding="utf-8") + wish, encoding="utf-8")
    more = [CASES / "readings" / "lowered-strut.toml"] if command == "gauge" else []
    assert run(command, path, *more) in (0, 1)
    text = " ".join(capsys.readouterr().out.split())
    assert "lide the strut top 8.5 mm inboard and 8.5 mm rearward" in text
    if command in ("suggest", "curve", "check", "gauge"):
        assert "camber goes from -1.73 to -2.50 deg, caster from +3.70 to +4.50 deg." in text
    if command in ("suggest", "curve", "check"):
        assert "takes the peak toe change from 0.506 to 0.341 deg and the slope from" in text
