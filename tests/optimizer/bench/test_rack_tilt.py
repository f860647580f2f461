"""A rack on spacers of unequal height, left and right, tilts as one body; both wheels feel it.

The car is the demo of two measured wheels, with no stack to choose, its figures invented.
"""

import re

import numpy as np
import pytest

from optimizer.answers.comparison import compared
from optimizer.answers.curve import curve
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml
from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.models.curve import CurveRequest
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of
from tests.optimizer.command_line import CASES, STRUT, run

TEXT = (CASES / "two-sided-wishbone.toml").read_text(encoding="utf-8")
MOUNTS_MM, TILT_MM = 560.0, 8.0
SAME_DEG, SAME_MM = 1e-4, 1e-9


def listed(*tilts: float, text: str = TEXT) -> str:
    return text.replace("[rack]", f"[rack]\nmounts = {MOUNTS_MM}\ntilt = {[*tilts]}\n#", 1)


def no_stack(text: str) -> str:
    """The car with a single thin shim for each wheel."""
    shelf = "[shelf]\nshims = [{ thickness = 0.5, count = 1 }]\n"
    text = re.sub(r"(?ms)^\[shelf\].*?(?=^\[)", shelf + "\n", text)
    return re.sub(r"(?m)^spacers = .*", "spacers = [0.0]", text)


def by_hand(tilt: float) -> Vehicle:
    """The same rack turned about the car's middle line: other inner pivots, another axis."""
    slope = tilt / MOUNTS_MM

    def turned(found: re.Match[str]) -> str:
        y, z = float(found[2]), float(found[3])
        return f"{found[1]} {y}, {z + slope * y}]"

    text, times = re.subn(r"(tie_rod_inner *= \[[^,]+,) *(-?[\d.]+), *(-?[\d.]+)\]", turned, TEXT)
    assert times == 2
    return car_from_toml(
        text.replace("[steering]\n", f"[steering]\nrack_axis = [0.0, 1.0, {slope}]\n", 1), "car"
    )


@pytest.mark.parametrize("rack", [0.0, 40.0, -40.0])
def test_it_steers_as_a_car_that_was_measured_with_its_rack_so(rack):
    travel = np.arange(-40.0, 41.0, 10.0)
    for one, other in zip(
        car_from_toml(listed(0.0, TILT_MM), "car").wheels, by_hand(TILT_MM).wheels, strict=True
    ):
        tilted = Evaluator.of(one).toe(Settings.single(0.0, 0.0, 1), travel, rack)[0]
        measured = Evaluator.of(other).toe(Settings.single(), travel, rack)[0]
        assert np.degrees(tilted) == pytest.approx(np.degrees(measured), abs=SAME_DEG)


def test_it_lifts_one_wheel_s_inner_pivot_and_lowers_the_other_s():
    left, right = (
        Evaluator.of(case).corner.pivots(Settings.single(0.0, 0.0, 1))[1][0]
        - Evaluator.of(case).corner.inner
        for case in car_from_toml(listed(0.0, TILT_MM), "car").wheels
    )
    assert left[2] > 2.0
    assert right[2] < -2.0
    assert left[2] == pytest.approx(-right[2], rel=0.1)


def test_it_is_searched_and_told_with_its_side_effects(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text(no_stack(listed(0.0, TILT_MM, -TILT_MM)), encoding="utf-8")
    answer = suggest(car_from_toml(path.read_text(encoding="utf-8"), "car"))
    first = next(row for row in answer.ranked if row.fits)
    assert first.rack_tilt_mm in (TILT_MM, -TILT_MM)
    assert first.peak_toe_change_deg < answer.as_is.peak_toe_change_deg
    assert {wheel.rack_tilt_mm for wheel in first.wheels} == {first.rack_tilt_mm}
    assert "inner-raised" in {caution.kind for caution in answer.cautions}
    assert run("suggest", path, "--verbose") == 1
    said = " ".join(capsys.readouterr().out.split())
    way = "raise" if first.rack_tilt_mm > 0.0 else "lower"
    assert f"{way} left end of the rack against the right 8.0 mm" in said
    assert "What else it changes" in said
    assert "roll center" in said


def test_curve_shows_it_as_it_is_searched(tmp_path, capsys):
    car = car_from_toml(listed(0.0, TILT_MM), "car")
    asked = curve(car, CurveRequest(rack_tilt=TILT_MM))
    assert asked.setting.rack_tilt_mm == TILT_MM
    for one, case in zip(asked.wheels, car.wheels, strict=True):
        toe = Evaluator.of(case).toe(Settings.single(0.0, 0.0, 1), np.array(one.travel_mm))[0]
        assert one.toe_deg == pytest.approx(np.degrees(toe), abs=SAME_DEG)
    path = tmp_path / "car.toml"
    path.write_text(listed(0.0), encoding="utf-8")
    assert run("curve", path, "--rack-tilt", "8") == 0
    assert "left end of the rack higher by 8.0 mm" in " ".join(capsys.readouterr().out.split())
    assert run("curve", STRUT, "--rack-tilt", "8") == 2
    assert "a tilted rack asks for both wheels" in capsys.readouterr().err


def test_a_tilted_rack_is_work_on_the_rack():
    """By the usual table a rack moved is 4 washers' worth, once, whichever way it goes."""
    space = space_of(car_from_toml(no_stack(listed(0.0, TILT_MM)), "car").wheels[0])
    work = dict(zip(map(tuple, fitted(space.settings)), space.effort()[1], strict=True))
    assert work[0.0, 0] == 0.0
    assert work[0.0, 1] == 4.0
    assert work[0.5, 1] == 5.0


def fitted(settings: Settings) -> list[tuple[float, int]]:
    return list(zip(settings.outer_drop.tolist(), settings.linkage.tolist(), strict=True))


def test_a_sweep_says_how_the_rack_was_tilted(tmp_path):
    car = car_from_toml(listed(0.0), "car")
    evaluator = Evaluator.of(car_from_toml(listed(TILT_MM), "car").wheels[0])
    travel = np.arange(-40.0, 41.0, 10.0)
    toe = np.degrees(evaluator.toe(Settings.single(), travel)[0])
    rows = [[x, round(y, 4)] for x, y in zip(travel.tolist(), toe.tolist(), strict=True)]
    path = tmp_path / "sweep.toml"
    path.write_text(
        'format = 1\nunits = "mm"\nkind = "angle"\nside = "left"\nouter_drop = 0.0\n'
        f"rack_raise = 0.0\nrack_tilt = {TILT_MM}\nreadings = {rows}\n",
        encoding="utf-8",
    )
    answer = gauge(car, [read_readings(path)])
    assert answer.swept[0].rack_tilt_mm == TILT_MM
    assert [one.by_mm for one in answer.wheels[0].moved] == []  # the tape was right


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TEXT.replace("[rack]", "[rack]\ntilt = [0.0, 2.0]\n#", 1), "rack.mounts must be given"),
        (listed(0.0, 2.0, text=STRUT.read_text(encoding="utf-8")), "asks for both wheels"),
        (
            listed(0.0, 2.0, text=(CASES / "lifted-beam-axle.toml").read_text(encoding="utf-8")),
            "where no rack joins both wheels",
        ),
    ],
)
def test_a_tilt_that_can_t_be_is_refused(text, words):
    with pytest.raises(PivotwrightError) as refused:
        car_from_toml(text, "car")
    assert words in " ".join(str(refused.value).split())


def test_the_wheels_are_compared_as_they_were_measured_whatever_is_fitted_now():
    tilted, level = (compared(car_from_toml(listed(*by), "car")) for by in ((8.0, 0.0), (0.0,)))
    assert tilted == level


def test_each_tilt_of_an_aligned_car_is_ranked_by_its_own_peaks():
    wish = '[alignment]\nby = "upper-arm"\ncamber_deg = -1.0\n\n'
    car = car_from_toml(listed(0.0, TILT_MM, text=TEXT.replace("[rack]", f"{wish}[rack]", 1)), "c")
    ranked = suggest(car).ranked
    assert {row.rack_tilt_mm for row in ranked} == {0.0, TILT_MM}
    for row in ranked:
        left, right = (wheel.outer_drop_mm for wheel in row.wheels)
        asked = CurveRequest(
            outer_drop=left,
            right_outer_drop=right,
            rack_raise=row.rack_raise_mm,
            rack_tilt=row.rack_tilt_mm,
            step=2.5,
        )
        for wheel, followed in zip(row.wheels, curve(car, asked).wheels, strict=True):
            toe = np.array(followed.toe_deg)
            change = np.abs(toe - toe[followed.travel_mm.index(0.0)])
            assert change.max() == pytest.approx(wheel.peak_toe_change_deg, abs=SAME_DEG)
