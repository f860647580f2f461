"""On the bench: few heights, other gauges, and play before geometry; the cars are invented."""

import json

import numpy as np
import pytest

from geometry.vectors import turned
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.cli.main import main
from optimizer.files.case_file import read_case
from optimizer.gauging.swept import swept
from optimizer.models.questions import NotToe, PlayFelt
from optimizer.models.remedies import (
    BetweenHeights,
    CountedFrom,
    CurvatureUnknown,
    CurveShape,
    HeightError,
    LengthError,
    Matters,
)

from .conftest import CASES
from .sweeps import kind_of, kinds, only, readings
from .typed import ANGLE, HEAD, KIT_CAR, rows

SLOPE = float(np.degrees(1.0 / (340.0 * 120.0)))  # of the kit car, per mm of travel and of height
STRUT = CASES / "lowered-strut.toml"


# --- two heights


def test_one_reading_in_bump_and_one_in_droop_tell_the_mean_slope_and_its_remedy(judged):
    wheel = judged(ANGLE + KIT_CAR + rows((40.0, -6.0 * SLOPE * 40.0), (-40.0, 6.0 * SLOPE * 40.0)))
    found = only(HeightError, wheel.diagnosis)
    assert (found.cure, found.by_mm) == ("lower-outer", pytest.approx(6.0, abs=0.01))
    assert wheel.diagnosis[0] == CurveShape(kind="slope", way="out")
    unknown = only(CurvatureUnknown, wheel.diagnosis)
    assert (unknown.low_mm, unknown.high_mm, unknown.tells_mm) == (-40.0, 40.0, 0.0)
    assert kind_of(LengthError, wheel.diagnosis) == []
    assert (wheel.measured.toe_curvature_deg, wheel.measured.scatter_deg) == (None, None)


def test_a_total_from_end_to_end_is_half_a_wheel_s(judged):
    # 1.2 deg between full droop and full bump, both wheels together.
    total = ANGLE + "total = true\n" + KIT_CAR + rows((-50.0, 0.6), (50.0, -0.6))
    assert judged(total).measured.toe_slope_deg_per_10mm == pytest.approx(-0.06)


def test_three_rows_tell_no_scatter_and_four_do(judged):
    three = ANGLE + KIT_CAR + rows((40.0, -0.4), (0.0, 0.0), (-40.0, 0.3))
    assert judged(three).measured.scatter_deg is None
    assert judged(three).measured.toe_curvature_deg == pytest.approx(-0.05)
    four = ANGLE + KIT_CAR + rows((40.0, -0.4), (0.0, 0.0), (0.0, 0.02), (-40.0, 0.3))
    assert judged(four).measured.scatter_deg > 0.0


def test_two_heights_correct_a_case_too(judged):
    sweep = ANGLE + rows((40.0, -0.45), (-40.0, 0.28))
    wheel = judged(sweep, case=STRUT)
    assert wheel.next is not None
    assert kind_of(CurvatureUnknown, wheel.diagnosis) == ["CurvatureUnknown"]


def test_a_maker_s_toe_between_two_heights_is_what_is_aimed_at(judged):
    # From the maker's start to 60 mm more rebound toe is to change by 0.10 to 0.20 deg; the car
    # now stands 20 mm lower than the start, so the start is at +20 as the rows count heights.
    maker = "between = { first = 20.0, second = -40.0, least_deg = 0.1, most_deg = 0.2 }\n"
    slope = -0.35 / 60.0
    wheel = judged(ANGLE + KIT_CAR + maker + rows(*((t, slope * t) for t in (20.0, 0.0, -40.0))))
    held = only(BetweenHeights, wheel.diagnosis)
    assert held.change_deg == pytest.approx(0.35)
    assert held.beyond_deg == pytest.approx(0.15)
    assert only(CountedFrom, wheel.diagnosis).gain_deg_per_10mm == pytest.approx(-0.025)
    found = only(HeightError, wheel.diagnosis)
    assert found.cure == "lower-outer"
    assert found.by_mm == pytest.approx((0.35 - 0.15) / 60.0 / SLOPE, rel=1e-3)
    inside = ANGLE + KIT_CAR + maker + rows(*((t, -0.0025 * t) for t in (20.0, 0.0, -40.0)))
    assert only(BetweenHeights, judged(inside).diagnosis).beyond_deg == 0.0


def test_heights_that_the_maker_means_and_nobody_swept_are_refused(refused):
    maker = "between = { first = 0.0, second = -60.0, least_deg = 0.1, most_deg = 0.2 }\n"
    text = refused(ANGLE + maker + rows((20.0, -0.1), (0.0, 0.0), (-40.0, 0.2)))
    assert "the heights of [between] lie outside those that were read" in text


# --- gauges of their own


def test_readings_in_degrees_are_asked_for_their_sign_and_their_wheels(judged):
    bare = rows((40.0, -0.4), (0.0, 0.0), (-40.0, 0.4))
    assert {"angle-sign", "angle-wheels"} <= set(kinds(judged(ANGLE + KIT_CAR + bare).questions))
    said = 'reading_grows = "toe-out"\ntotal = true\n'
    wheel = judged(ANGLE + said + KIT_CAR + bare)
    assert not {"angle-sign", "angle-wheels"} & set(kinds(wheel.questions))
    assert wheel.measured.toe_slope_deg_per_10mm == pytest.approx(+0.05)


def wall_rows(case, travel, distance):
    """Where a beam along the wheel's axle meets a wall beside the car, by the exact poses."""
    evaluator = Evaluator.of(read_case(case))
    setting, corner = Settings.single(), evaluator.corner
    motion = evaluator.motion(setting, travel, 0.0 * travel, evaluator.rod_length(setting))
    center = motion.moved(corner.points["wheel_center"])[0]
    spin = turned(motion.rotation, corner.spin)[0]
    home = int(np.flatnonzero(travel == 0.0)[0])
    steps = (center[home, 1] + distance - center[:, 1]) / spin[:, 1]
    return center[:, 0] + steps * spin[:, 0], evaluator


def test_a_beam_along_the_axle_onto_a_wall_tells_toe_exactly(judged):
    flat = readings("wall", [[-40.0, 6.0], [0.0, 0.0], [40.0, -6.0]])
    toe = swept(flat, None).curve.toe
    assert np.tan(toe) * 3000.0 == pytest.approx([6.0, 0.0, -6.0], abs=1e-9)
    back = readings("wall", [[-40.0, 6.0], [0.0, 0.0], [40.0, -6.0]], reading_grows="rearward")
    assert swept(back, None).curve.toe == pytest.approx(-toe)
    travel = np.arange(-40.0, 41.0, 10.0)
    spot, evaluator = wall_rows(STRUT, travel, 3000.0)
    beam = f'{HEAD}kind = "wall"\nwall_distance = 3000.0\nreading_grows = "forward"\n' + rows(
        *zip(travel, np.round(spot - spot[4], 2), strict=True)
    )
    wheel = judged(beam, case=STRUT)
    true = float(np.degrees(evaluator.curve(Settings.single()).slope[0])) * 10.0
    assert wheel.measured.toe_slope_deg_per_10mm == pytest.approx(true, abs=0.01)
    no_toe = only(NotToe, wheel.questions)
    assert no_toe.fore_aft
    assert abs(no_toe.no_toe_deg) < 0.2
    assert not wheel.contradictory


@pytest.mark.parametrize(("below", "low"), [(100.0, 0.057), (150.0, 0.134)])
def test_toe_read_off_the_tire_below_the_axle_is_read_over_a_chord(below, low):
    # On a 300 mm radius the chord is 6 % shorter at 100 mm, 13 % at 150: sqrt(1 - (h / r)^2).
    for kind in ("string", "toe-plates"):
        across = [[-40.0, 0.0, 3.0], [0.0, 0.0, 0.0], [40.0, 0.0, -3.0]]
        plain, lower = (
            swept(readings(kind, across, spacing=600.0, **more), None).curve.toe
            for more in ({}, {"below_center": below})
        )
        assert (np.sin(plain[0]) / np.sin(lower[0])) == pytest.approx(1.0 - low, abs=0.001)


# --- play before geometry


def test_a_rack_that_slides_makes_the_sweep_meaningless(judged):
    # 3/16 in each way in its bushings, at a 5 in arm: 2.1 deg each way.
    inches = ANGLE.replace('"mm"', '"in"')
    car = 'car = { rod_length = 13.0, steering_arm = 5.0, arms = "behind" }\n'
    sweep = rows(*((t, -0.25 * t) for t in (-2.0, -1.0, 0.0, 1.0, 2.0)))
    wheel = judged(f"{inches}rack_play = 0.1875\n{car}{sweep}")
    felt = only(PlayFelt, wheel.questions)
    assert (felt.kind, felt.of) == ("meaningless", "inner")
    assert felt.by_deg / 2.0 == pytest.approx(2.15, abs=0.005)
    assert felt.swing_deg == pytest.approx(1.0)
    assert wheel.questions[0] == felt  # before anything else is asked
    assert wheel.contradictory
    assert wheel.readings_noise_deg == pytest.approx(felt.by_deg / 2.0, rel=0.01)


def test_a_little_play_is_counted_as_noise(judged):
    sweep = rows(*((t, -0.0101 * t) for t in range(-50, 51, 10)))
    tight, loose = (judged(ANGLE + play + KIT_CAR + sweep) for play in ("", "play = 0.06\n"))
    felt = only(PlayFelt, loose.questions)
    assert (felt.kind, felt.by_deg) == ("noise", pytest.approx(0.06))
    assert loose.readings_noise_deg == pytest.approx(0.03, abs=0.001)
    assert tight.readings_noise_deg < 0.01
    assert not loose.contradictory
    no_arm = judged(f"{ANGLE}rack_play = 2.0\n{sweep}")
    assert only(PlayFelt, no_arm.questions).kind == "arm-unknown"


def test_the_sheet_begins_by_telling_slip_and_play_from_a_curve(capsys):
    assert main(["sheet", str(STRUT), "--outer-drop", "0", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    steps = [fact["kind"] for fact in answer["facts"]["prepare"]]
    assert steps[:2] == ["ride-height", "push-pull"]
    text = answer["prepare"][1]
    assert all(word in text for word in ("does not come back is slip", "is play", "is a curve"))


def test_what_is_within_the_tolerance_by_two_heights_is_said_so(judged):
    wheel = judged(ANGLE + KIT_CAR + rows((40.0, 0.01), (-40.0, 0.0)))
    assert only(Matters, wheel.diagnosis).kind == "within"


# --- what was read, as toe


def test_readings_are_told_as_a_table_and_as_csv(tmp_path, capsys):
    sweep, table = CASES / "readings" / "lowered-strut.toml", tmp_path / "toe.csv"
    assert main(["gauge", str(STRUT), str(sweep), "--json", "--csv", str(table)]) == 1
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    top = wheel["converted"][0]
    # Rear less front is -7.24 + 1.52 mm over 500 mm: -0.655 deg.
    assert (top["row"], top["travel_mm"]) == (1, 50.0)
    assert top["gauge"] == pytest.approx(-5.72)
    assert top["toe_change_deg"] == pytest.approx(np.degrees(np.arctan(-5.72 / 500.0)), abs=1e-9)
    changes = [row["toe_change_deg"] for row in wheel["converted"]]
    assert wheel["measured"]["swing_deg"] == pytest.approx(max(changes) - min(changes))
    assert wheel["measured"]["curvature_at_mm"] == 60.0
    lines = [line.split(",") for line in table.read_text(encoding="utf-8").splitlines()]
    assert lines[0][:4] == ["side", "row", "travel", "reading"]
    assert lines[1][2:5] == ["mm", "mm", "deg"]
    assert len(lines) == 2 + len(changes)
    assert [float(line[4]) for line in lines[2:]] == pytest.approx(changes, abs=1e-4)
    assert main(["gauge", str(STRUT), str(sweep), "--csv", str(table)]) == 2
    assert "exists already; add --overwrite" in capsys.readouterr().err
    assert (
        main(["gauge", str(STRUT), str(sweep), "--csv", str(table), "--overwrite", "--verbose"])
        == 1
    )
    text = " ".join(capsys.readouterr().out.split())
    assert "end to end it swings by 1.196 deg" in text
    assert "deg at 60.0 mm of travel" in text


def test_rows_of_all_sweeps_are_told_each_with_its_sweep_its_side_and_its_unit(tmp_path, capsys):
    """Of a case with one wheel those of the other one too, read by another gauge in inches."""
    first, other, csv = tmp_path / "first.toml", tmp_path / "other.toml", tmp_path / "toe.csv"
    page, walk = tmp_path / "page.html", CASES / "walkthrough"
    swept = (walk / "second-sweep.toml").read_text(encoding="utf-8")
    first.write_text(f'side = "left"\n{swept}', encoding="utf-8")
    told = 'format = 1\nunits = "in"\nkind = "dial-and-roller"\nspacing = 20.0\nside = "right"\n'
    told += 'dial_at = "front"\nreading_grows = "outboard"\nouter_drop = 0.0\nrack_raise = 0.0\n'
    other.write_text(told + "readings = [[1.5, -0.12], [0.0, 0.0], [-1.5, 0.09]]", encoding="utf-8")
    files = [walk / "hatch.toml", first, other, walk / "first-sweep.toml"]
    run = ["gauge", *map(str, files), "--json", "--csv", str(csv), "--page", str(page)]
    assert main(run) in (0, 1)
    found = json.loads(capsys.readouterr().out)
    rows = found["wheels"][0]["converted"]
    assert [row["sweep"] for row in rows] == [1] * 11 + [2] * 3 + [3] * 11
    assert [row["row"] for row in rows] == [*range(1, 12), 1, 2, 3, *range(1, 12)]
    shows = [one["gauge_shows"]["unit"] for one in found["facts"]["swept"]]
    lines = [line.split(",") for line in csv.read_text(encoding="utf-8").splitlines()]
    assert [line[3] for line in lines if line[1] == ""] == shows == ["mm", "in", "mm"]
    kept = [line for line in lines[1:] if line[1]]
    assert [line[0] for line in kept] == ["left"] * 11 + ["right"] * 3 + ["left"] * 11
    assert [float(line[4]) for line in kept] == pytest.approx(
        [row["toe_change_deg"] for row in rows], abs=1e-5
    )
    names = ["Second sweep", "other", "First sweep"]
    assert [kept[k][-1] for k in (0, 11, 14)] == names
    for name in names:
        assert f"&#34;{name}&#34; as read, and as toe" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("head", "key"),
    [
        ('kind = "toe-plates"\nspacing = 500.0\n', 'kind = "toe-plates"'),
        ('kind = "angle"\ntotal = true\n', "total = true"),
    ],
)
def test_the_toe_of_both_wheels_together_says_nothing_of_a_beam_axle(refused, head, key):
    width = 3 if "plates" in head else 2
    read = rows(*((t, *([0.01 * t] * width)[1:]) for t in (-60.0, 0.0, 60.0)))
    said = refused(HEAD + head + read, case=CASES / "lifted-beam-axle.toml")
    assert f"{key} reads the toe of both wheels together, which hardly changes on a beam" in said
    assert "sweep the left wheel by itself" in said
