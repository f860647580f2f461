"""What a report says of where it looks, so that no one has to guess: heights, aims, ends."""

import numpy as np
import pytest

from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.models.curve import CurveResult
from optimizer.reports.sketch import AIM
from tests.optimizer.command_line import STRUT, WISHBONE, answer_of, changed, run


def said(capsys):
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("depth", ["--quiet", "--verbose", None])
def test_suggest_says_at_which_ride_height(capsys, depth):
    run("suggest", STRUT, *([depth] if depth else []))
    assert "left wheel, 40.0 mm lower; " in said(capsys)


def test_a_car_that_stands_as_measured_is_said_to(capsys, tmp_path):
    path = tmp_path / "as-measured.toml"
    path.write_text(changed(WISHBONE, r"^lowered_by = .*", ""), encoding="utf-8")
    run("suggest", path, "--quiet")
    assert "left wheel, as high as measured; " in said(capsys)


def test_travel_that_the_car_does_not_use_is_not_held_against_it(capsys):
    asked = ("curve", STRUT, "--bump", 400, "--step", 50)
    run(*asked, "--json")
    (wheel,) = answer_of(CurveResult, capsys.readouterr().out).wheels
    assert [note.used_mm for note in wheel.notes] == [(50.0, 60.0)] * 2
    run(*asked)
    assert "uses 50.0 mm of bump and 60.0 mm of droop: it need not go there." in said(capsys)


def test_travel_that_the_car_uses_is(capsys, tmp_path):
    path = tmp_path / "far.toml"
    path.write_text(changed(STRUT, r"^bump  .*", "bump = 400.0"), encoding="utf-8")
    run("curve", path, "--step", 50, "--json")
    (wheel,) = answer_of(CurveResult, capsys.readouterr().out).wheels
    assert [note.used_mm for note in wheel.notes] == [None] * 2


def test_a_measured_curve_is_drawn_with_the_gain_that_is_wanted(capsys, tmp_path):
    """An invented sweep of 0.1 deg of toe-out in 10 mm, of which 0.04 are wanted."""
    path, gain = tmp_path / "sweep.toml", -0.04
    rows = ", ".join(f"[{10 * k}.0, {-0.1 * k:.1f}]" for k in range(-4, 5))
    head = 'format = 1\nunits = "mm"\nkind = "angle"\nreading_grows = "toe-in"\n'
    aim = f"[aim]\ntoe_gain_deg_per_10mm = {gain}\n"
    path.write_text(f"{head}readings = [{rows}]\n{aim}", encoding="utf-8")
    (wheel,) = gauge(None, [read_readings(path)]).wheels
    found = wheel.measured
    assert found.wanted_deg == pytest.approx(gain * np.array(found.travel_mm) / 10.0)
    assert found.peak_toe_change_deg == pytest.approx(0.24, abs=1e-6)
    run("gauge", path)
    out = capsys.readouterr().out
    assert f"o read, {AIM} wanted; toe-out " in " ".join(out.split())
    assert "all beyond what is wanted" in " ".join(out.split())
    (top,) = (line for line in out.splitlines() if line.lstrip().startswith("+40.0  o"))
    assert AIM in top.split("o", 1)[1]
