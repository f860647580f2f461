"""Random cars of every layout: one of the good cases, every point moved by up to 15 mm an axis."""

import tomllib
from typing import Any

from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from optimizer.car.settings import Settings
from optimizer.files.case_file import case_from_toml
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.units import MM_PER_INCH

from .optimizer.case_texts import GOOD_CASES

LAYOUTS = ("strut", "double-wishbone", "twin-link-strut", "five-link", "beam-axle", "leaf-axle")
GOOD_POINTS = {
    layout: {
        name: [MM_PER_INCH * x if case.units == "in" else x for x in point]
        for name, point in tomllib.loads(text)["points"].items()
    }
    for layout in LAYOUTS
    for text in [GOOD_CASES[layout].read_text(encoding="utf-8")]
    for case in [case_from_toml(text, layout)]
}
Table = dict[str, Any]


def whole_hundredths(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers as a tape or a protractor gives them."""
    return st.integers(round(low * 100), round(high * 100)).map(lambda n: n / 100.0)


tilt = whole_hundredths(-0.2, 0.2)  # of an axis from standing or lying straight


@st.composite
def cars(draw: st.DrawFn) -> Table:
    """A case file's table: a random car, in millimeters, with nothing to fit yet."""
    layout = draw(st.sampled_from(LAYOUTS))
    good = GOOD_POINTS[layout]
    moved = draw(arrays(float, (len(good), 3), elements=whole_hundredths(-15.0, 15.0)))
    points = {
        name: [x + dx for x, dx in zip(point, shift, strict=True)]
        for (name, point), shift in zip(good.items(), moved.tolist(), strict=True)
    }
    car = {
        "format": 1,
        "name": "A random car",
        "units": "mm",
        "layout": layout,
        "points": points,
        "wheel": {
            "toe_deg": draw(whole_hundredths(-0.5, 0.5)),
            "camber_deg": draw(whole_hundredths(-3.0, 3.0)),
            "tire_radius": 310.0,
        },
        "ride": {
            "lowered_by": draw(whole_hundredths(-20.0, 40.0)),
            "bump": draw(whole_hundredths(20.0, 50.0)),
            "droop": draw(whole_hundredths(20.0, 50.0)),
            "toe_deg": draw(whole_hundredths(-0.3, 0.3)),
        },
        "steering": {"rack_axis": [draw(tilt), 1.0, draw(tilt)], "rack_travel": 60.0},
        "outer_pivot": {"stud_axis": [draw(tilt), draw(tilt), -1.0]},
    }
    if "lower_ball_joint" in points:
        car["lower_ball_joint"] = {"drop": draw(st.sampled_from([0.0, 12.5, 25.0]))}
    return car


changes = st.builds(
    CurveRequest,
    outer_drop=whole_hundredths(-5.0, 25.0),
    rack_raise=whole_hundredths(-6.0, 6.0),
    rack_travel=whole_hundredths(-30.0, 30.0),
    keep_rod_length=st.booleans(),
)


def case_of(table: Table) -> Case:
    return Case.model_validate(table)


def settings_of(request: CurveRequest) -> Settings:
    return Settings.single(request.outer_drop, request.rack_raise)
