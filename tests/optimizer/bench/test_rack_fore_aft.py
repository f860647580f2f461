"""A rack moved fore or aft is in what a sheet promises, and in the pictures of what to fit next."""

from types import SimpleNamespace

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.answers.pictures import views_of_next
from optimizer.answers.sheet import sheet
from optimizer.files.case_file import read_car
from optimizer.models.curve import CurveRequest
from optimizer.models.setting import Fitted
from tests.optimizer.command_line import WISHBONE

FORWARD_MM = 12.0
LENGTH_ATOL_MM = 1e-6


def fitted(forward):
    return Fitted(
        side="left",
        outer_drop_mm=5.0,
        stack_mm=[5.0],
        rack_raise_mm=0.0,
        ball_joint_drop_mm=0.0,
        rack_fore_aft_mm=forward,
    )


@pytest.mark.parametrize("forward", [0.0, FORWARD_MM])
def test_a_sheet_promises_the_curve_of_the_moved_rack(forward):
    car = read_car(WISHBONE)
    (told,) = sheet(car, [fitted(forward)], "two-dial", "asked").wheels
    (followed,) = curve(car, CurveRequest(outer_drop=5.0, rack_fore_aft=forward)).wheels
    assert told.tie_rod_length_change_mm == pytest.approx(
        followed.tie_rod_length_change_mm, abs=LENGTH_ATOL_MM
    )
    toe = np.interp([row.travel_mm for row in told.rows], followed.travel_mm, followed.toe_deg)
    home = followed.toe_deg[followed.travel_mm.index(0.0)]
    assert [row.toe_change_deg for row in told.rows] == pytest.approx(toe - home, abs=0.01)


def test_the_picture_of_what_to_fit_next_has_the_moved_rack():
    car, inner = read_car(WISHBONE), []
    for forward in (0.0, FORWARD_MM):
        wheel = SimpleNamespace(
            side="left", fitted_points={}, next=fitted(forward), covariance_root={}, expected=[]
        )
        (view,) = views_of_next(car, SimpleNamespace(wheels=[wheel]))
        (rod,) = (bar for bar in view.linkage.poses[1].bars if bar.kind == "rod")
        inner.append(min(rod.start_mm, rod.end_mm, key=lambda point: abs(point[1])))
    moved = np.subtract(inner[1], inner[0])
    assert moved == pytest.approx([FORWARD_MM, 0.0, 0.0], abs=LENGTH_ATOL_MM)
