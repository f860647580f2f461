"""A beam axle from case file to answer: what its drag and lateral link do, and the bracket cure.

Common practice, no source: equal parallel links leave no bump steer (exact, as the axle then swings
without turning), and a steep drag link is cured at brackets or pitman arm.
"""

import tomllib
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from geometry.axle_motion import axle_motion
from geometry.linkages import BeamAxle
from geometry.poses import Rod
from geometry.wheel_angles import toe_angle

from .command_line import run, strictly_json

ANGLE_ATOL_DEG = 1e-9
RESOLUTION_DEG = 0.01  # of a gauge; settings within it of the best are ranked by simplicity
TRAVEL = np.linspace(-70.0, 70.0, 25)  # the heights that the program scores
UP = np.array([0.0, 0.0, 1.0])

FLAT_AXLE = tomllib.loads(
    (Path(__file__).parents[1] / "flat_axle.toml").read_text(encoding="utf-8")
)
LATERAL = np.array([20.0, 840.0, -113.0])  # from frame, right, to axle, left
FRAME, PITMAN = np.array([60.0, -420.0, 460.0]), np.array([130.0, -150.0, 520.0])


def points_of(lateral: np.ndarray, drag: np.ndarray) -> dict[str, list[float]]:
    """An axle with a lateral link and a drag link of these spans; their outer ends stay."""
    at_axle, at_knuckle = FRAME + LATERAL, PITMAN + LATERAL
    return FLAT_AXLE | {
        "link_1_inner": (at_axle - lateral).tolist(),
        "link_1_outer": at_axle.tolist(),
        "drag_link_inner": (at_knuckle - drag).tolist(),
        "drag_link_outer": at_knuckle.tolist(),
    }


def case_file(folder: Path, points: dict[str, list[float]], **tables: Any) -> Path:
    """A case in millimeters with these points and further tables."""
    case = {
        "format": 1,
        "name": "Axle on level links",
        "units": "mm",
        "layout": "beam-axle",
        "points": points,
        "wheel": {"tire_radius": 360.0},
        "ride": {"bump": 70.0, "droop": 70.0},
        "steering": {"arms": "ahead"},
        **tables,
    }
    path = folder / "axle.toml"
    path.write_text(tomlkit.dumps(case), encoding="utf-8")
    return path


def answer(capsys: pytest.CaptureFixture[str], *arguments: object) -> dict[str, Any]:
    code = run(*arguments, "--json")
    found = strictly_json(capsys.readouterr().out)
    assert code == (0 if arguments[0] != "suggest" or found["facts"]["verdict"]["meets"] else 1)
    return found


def test_equal_parallel_links_leave_an_axle_without_bump_steer_and_nothing_to_fit(capsys, tmp_path):
    path = case_file(
        tmp_path,
        points_of(LATERAL, LATERAL),
        outer_pivot={"stack": {"min": -10.0, "max": 10.0, "step": 5.0}},
        lateral_link={"frame_bracket": [0.0, -20.0, 20.0]},
    )
    (found,) = answer(capsys, "curve", path)["wheels"]
    assert found["toe_deg"] == pytest.approx([0.0] * 15, abs=ANGLE_ATOL_DEG)
    assert found["other_wheel_toe_deg"] == pytest.approx([0.0] * 15, abs=ANGLE_ATOL_DEG)
    assert max(map(abs, found["half_track_change_mm"])) > 1.0  # it is carried sideways
    first = answer(capsys, "suggest", path)["ranked"][0]
    assert first["is_as_is"]
    assert first["peak_toe_change_deg"] == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


STACKS = np.arange(-15.0, 16.0, 5.0)
PITMAN_ARMS = [0.0, -20.0, -40.0]
FRAME_BRACKETS, AXLE_BRACKETS = [0.0, 40.0, 80.0], [0.0, -25.0]
SETTING = ("outer_drop_mm", "rack_raise_mm", "frame_bracket_raise_mm", "axle_bracket_raise_mm")
STEEP = points_of(LATERAL * [1.0, 1.0, 0.0], LATERAL)
HARDWARE = {
    "outer_pivot": {"stack": {"min": -15.0, "max": 15.0, "step": 5.0}},
    "rack": {"spacers": PITMAN_ARMS},
    "lateral_link": {"frame_bracket": FRAME_BRACKETS, "axle_bracket": AXLE_BRACKETS},
}


def exact_peaks() -> dict[tuple[float, float, float, float], float]:
    """Peak toe change of every setting by the exact solver, from the points alone. [deg]

    By stack, pitman ball, frame bracket and axle bracket.
    """
    points = {name: np.array(point) for name, point in STEEP.items()}
    stacks, arms = (grid.ravel() for grid in np.meshgrid(STACKS, PITMAN_ARMS))
    outer = points.pop("drag_link_outer") - stacks[:, None, None] * UP
    inner = points.pop("drag_link_inner") + arms[:, None, None] * UP
    rods = Rod(inner, outer, np.linalg.norm(outer - inner, axis=-1))
    peaks = {}
    for frame, axle in product(FRAME_BRACKETS, AXLE_BRACKETS):
        raised = {
            "link_1_inner": points["link_1_inner"] + frame * UP,
            "link_1_outer": points["link_1_outer"] + axle * UP,
        }
        motion = axle_motion(BeamAxle.of(None, **points | raised), TRAVEL, rods).left
        toe = np.degrees(toe_angle(motion.rotation @ np.array([0.0, 1.0, 0.0])))
        peak = np.abs(toe).max(axis=1).tolist()
        for stack, arm, found in zip(stacks.tolist(), arms.tolist(), peak, strict=True):
            peaks[stack, arm, frame, axle] = found
    return peaks


def test_a_steep_drag_link_beside_a_level_lateral_link_is_cured_at_the_brackets(capsys, tmp_path):
    path = case_file(tmp_path, STEEP, **HARDWARE)
    found = answer(capsys, "suggest", path)
    peaks = exact_peaks()
    as_is, best = peaks[0.0, 0.0, 0.0, 0.0], min(peaks.values())
    brackets_left = min(peak for key, peak in peaks.items() if key[2:] == (0.0, 0.0))

    proof = found["certificate"]
    assert proof["combinations"] == len(peaks) == 7 * 3 * 6
    assert proof["best_peak_toe_change_deg"] == pytest.approx(best, abs=ANGLE_ATOL_DEG)
    for row in found["ranked"]:
        key = tuple(row["wheels"][0][name] for name in SETTING)
        assert row["peak_toe_change_deg"] == pytest.approx(peaks[key], abs=ANGLE_ATOL_DEG)
    winner = tuple(found["ranked"][0]["wheels"][0][name] for name in SETTING)
    assert peaks[winner] <= best + RESOLUTION_DEG
    assert as_is > 3.0
    assert peaks[winner] < 0.1 * as_is
    assert peaks[winner] < 0.5 * brackets_left
    assert winner[2] - winner[3] > 0.0  # the frame's end up against the axle's: toward parallel
