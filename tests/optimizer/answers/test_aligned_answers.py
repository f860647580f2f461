"""What the answers are once a camber and a caster are set, and what can't be set."""

import tomllib
from typing import Any

import numpy as np
import pytest

from optimizer.answers.check import check
from optimizer.answers.curve import curve
from optimizer.answers.sheet import sheet
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.adjust import corner_of
from optimizer.car.alignment import AlignmentError, aligned_case, alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.plausibility import refuse_impossible
from optimizer.car.ride_heights import RideHeights
from optimizer.files.kits import read_kits
from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.setting import Fitted, Ranked
from optimizer.models.vehicle import Vehicle
from optimizer.wording.reader import Reader
from optimizer.wording.sheets import preparation
from tests.optimizer.command_line import CASES, changed, run
from tests.optimizer.one_wheel import check_of, curve_of
from tests.optimizer.two_sided_cars import DEMO_TEXT, car_of
from tests.optimizer.wished_cars import (
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
    kept = curve_of(wished, CurveRequest(keep_rod_length=True))
    home = kept.travel_mm.index(0.0)
    posed = moved_car(wished).pose(wished.ride.lowered_by, rod=lengths[0])
    assert kept.toe_deg[home] == pytest.approx(posed.toe_deg, rel=0.0, abs=SAME_TOE_ATOL_DEG)
    reset = curve_of(wished).tie_rod_length_change_mm
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


def of_one(case: Case) -> Vehicle:
    return Vehicle((case,))


KITS = read_kits(CASES / "kits.toml").kits
SWEEP = read_readings(CASES / "readings" / "lowered-strut.toml")
ANSWERS = {
    "suggest": suggest,
    "kits": lambda car: suggest(car, KITS),
    "curve": curve,
    "gauge": lambda car: gauge(car, [SWEEP]),
}


@pytest.mark.parametrize("answer", ANSWERS.values(), ids=ANSWERS)
def test_every_answer_is_that_of_the_aligned_car(answer):
    case = wishing(*WISHES[0])
    aligned = aligned_case(case)
    assert aligned.alignment is None
    (there,) = RideHeights.of(case, np.array([case.ride.lowered_by])).evaluators
    assert Evaluator.of(case).case == there.case == aligned
    found, plain = answer(of_one(case)), answer(of_one(aligned))
    (wheel,), (other,) = found.wheels, plain.wheels
    assert other.alignment is None
    assert wheel.alignment.what_to_move == alignment_of(case)[1].what_to_move
    of_alignment = dict.fromkeys({"alignment", "before_alignment"} & set(type(wheel).model_fields))
    alike = [wheel.model_copy(update=of_alignment)]
    typed = {name: getattr(plain, name) for name in {"doubted"} & set(type(plain).model_fields)}
    assert found.model_copy(update={"wheels": alike} | typed) == plain


def test_each_of_several_ball_joint_extensions_has_an_alignment_of_its_own():
    table = tomllib.loads(EXTENDED.read_text(encoding="utf-8"))
    table["alignment"] = {"by": "strut-top", "camber_deg": -2.5}
    cars = {
        drops: of_one(Case.model_validate(table | {"lower_ball_joint": {"drop": list(drops)}}))
        for drops in ((30.0, 15.0), (30.0,), (15.0,))
    }
    refuse_impossible(cars[30.0, 15.0])
    found = suggest(cars[30.0, 15.0], plan=SuggestPlan(shown=20))
    compared = 0
    for drop in (30.0, 15.0):
        alone = suggest(cars[(drop,)], plan=SuggestPlan(shown=20))
        peaks = {fitted_at(row): row.peak_toe_change_deg for row in alone.ranked}
        for row in found.ranked:
            if row.ball_joint_drop_mm == drop and fitted_at(row) in peaks:
                assert row.peak_toe_change_deg == pytest.approx(peaks[fitted_at(row)], rel=1e-9)
                compared += 1
    assert compared >= 10
    assert found.wheels[0].alignment is not None


def fitted_at(row: Ranked) -> tuple[float, float]:
    (wheel,) = row.wheels
    return wheel.outer_drop_mm, wheel.rack_raise_mm


def test_the_sheet_says_which_alignment_to_set():
    case = wishing(*WISHES[0])
    seat = Fitted(
        side="left", outer_drop_mm=0.0, stack_mm=[], rack_raise_mm=0.0, ball_joint_drop_mm=0.0
    )
    made, plain = (sheet(of_one(one), [seat], "two-dial") for one in (case, aligned_case(case)))
    (wheel,), (other,) = made.wheels, plain.wheels
    assert (wheel.rows, made.prepare) == (other.rows, plain.prepare)
    reader = Reader(made.subject)
    before = preparation(plain, other, reader)
    assert [line for line in preparation(made, wheel, reader) if line not in before] == [
        "Alignment at that height: camber -2.50 deg, caster 4.50 deg (slide the strut top 8.5 mm "
        "inboard and 8.5 mm rearward from where measured)."
    ]


def test_a_check_tells_what_must_be_moved_and_judges_the_points_as_measured():
    case = wishing(*WISHES[0])
    found, plain = check_of(case), check_of(measured(case))
    assert found.figures == plain.figures
    assert found.alignment == curve_of(case).alignment
    assert [doubt.location for doubt in found.doubts if doubt not in plain.doubts] == [
        "alignment.most"
    ]
    stated = wishing(STRUT, WISHES[0][1] | {"most": 10.0})
    assert check_of(stated).doubts == plain.doubts


def test_an_alignment_hides_no_difference_of_the_wheels():
    text = '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'
    plain, aligned = (check(car_of(DEMO_TEXT + more)).comparison for more in ("", text))
    assert aligned == plain


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


def test_a_wheel_that_is_aligned_anew_for_an_extension_is_held_against_the_car_as_it_is():
    table = tomllib.loads((CASES / "extended-strut.toml").read_text(encoding="utf-8"))
    table["outer_pivot"] = {"stack": {"min": 20.0, "max": 35.0, "step": 5.0}}
    table["alignment"] = {"by": "strut-top", "camber_deg": -2.0}
    table["lower_ball_joint"] = {"drop": [0.0, 30.0]}
    case = Case.model_validate(table)
    result = suggest(Vehicle((case,)))
    fitted = result.ranked[0]
    assert (result.side_effects_of, fitted.ball_joint_drop_mm) == (1, 30.0)
    effects = result.wheels[0].side_effects
    drop = fitted.wheels[0].outer_drop_mm
    turn = effects.turn_toe_out[-1]
    for key, fit in (("before", {}), ("after", {"outer_drop": drop, "ball_joint_drop": 30.0})):
        still = {"bump": 0.0, "droop": 0.0}
        straight, lock = (
            curve_of(case, CurveRequest(**fit, **still, rack_travel=at))
            for at in (0.0, turn.rack_travel_mm)
        )
        assert getattr(effects.caster_deg, key) == pytest.approx(straight.caster_deg[0])
        steered = abs(lock.toe_deg[0] - straight.toe_deg[0])
        angles = getattr(turn, key)
        assert steered == pytest.approx(angles.outer_deg) or steered == pytest.approx(
            angles.inner_deg
        )
    assert effects.caster_deg.after < effects.caster_deg.before - 0.1
