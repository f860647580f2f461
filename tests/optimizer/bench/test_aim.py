"""A wanted gain in the trade's units, and a graph of toe change with the aim drawn in it."""

import numpy as np
import pytest

from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import STRUT, answer_of, changed, run

GAIN_DEG_PER_10MM = -0.06
DIAMETER_MM = 600.0
# Toe-out of 0.06 deg in 10 mm: 3.6 minutes; as a distance at a diameter, its angle times that.
SAME = {
    "degrees": f"toe_gain_deg_per_10mm = {GAIN_DEG_PER_10MM}",
    "minutes": "toe_gain_minutes_per_10mm = -3.6",
    "in per in": f"toe_gain_in_per_in = {np.radians(GAIN_DEG_PER_10MM) / 10.0 * DIAMETER_MM}\n"
    f"toe_gain_diameter = {DIAMETER_MM}",
}


def car_with(tmp_path, gain):
    path = tmp_path / "gain.toml"
    text = changed(STRUT, r"^\[aim\]\n(toe_gain.*\n)?", f"[aim]\n{gain}\n")
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("unit", SAME)
def test_one_gain_is_the_same_in_every_unit(capsys, tmp_path, unit):
    run("suggest", car_with(tmp_path, SAME[unit]), "--json")
    answer = answer_of(SuggestResult, capsys.readouterr().out)
    assert answer.toe_gain_deg_per_10mm == pytest.approx(GAIN_DEG_PER_10MM, rel=1e-9)
    (wheel,) = answer.wheels
    travel, wanted = np.array(wheel.curves.travel_mm), np.array(wheel.curves.wanted_deg)
    assert wanted == pytest.approx(GAIN_DEG_PER_10MM * travel / 10.0)


def test_the_graph_shows_toe_change_and_the_aim(capsys, tmp_path):
    path = car_with(tmp_path, SAME["degrees"])
    run("suggest", path, "--json")
    curves = answer_of(SuggestResult, capsys.readouterr().out).wheels[0].curves
    now, wanted = np.array(curves.as_is_deg), np.array(curves.wanted_deg)
    best = np.array(curves.best_deg)
    run("suggest", path, "--verbose")
    drawn = capsys.readouterr().out.split("Toe change over the used travel")[1]
    assert ", . wanted; " in drawn
    full = max(np.abs(now + wanted).max(), np.abs(best + wanted).max(), np.abs(wanted).max())
    assert f"±{full:.3f} deg" in drawn
    top = next(line for line in drawn.splitlines() if line.strip().startswith("+"))
    axis = next(line for line in drawn.splitlines() if line.strip().startswith("0.0")).index("*")
    half = 24
    place = axis + round((now + wanted)[-1] / full * half)
    assert top.ljust(axis + half + 1)[place] in "o*"


@pytest.mark.parametrize(
    ("gain", "location"),
    [
        ("toe_gain_in_per_in = -0.01", "aim.toe_gain_diameter"),
        ("toe_gain_deg_per_10mm = 0.1\ntoe_gain_minutes_per_10mm = 6", "toe_gain_minutes_per_10mm"),
    ],
)
def test_a_gain_without_its_diameter_or_given_twice_is_refused(capsys, tmp_path, gain, location):
    assert run("suggest", car_with(tmp_path, gain)) == 2
    assert location in capsys.readouterr().err
