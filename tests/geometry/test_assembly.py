"""Which assembly a pose belongs to, held against linkages led in steps of 0.25 mm.

The rows are those of seeded draws, chosen by the slow reference alone; what makes each of them a
trap is checked again here.
"""

from dataclasses import replace

import numpy as np
import pytest

from geometry.motion import Rod, rod_motion

from .corners import Array
from .extreme_cars import BASES, LEFT, Verdict, extreme_places, linkage
from .small_steps import leaps_amiss

LAYOUTS = pytest.mark.parametrize("layout", BASES)
SAME_ROTATION = 1e-11  # of one pose in two batches
BESIDE_MM = 1.0
# Of `extreme_places(layout, 3500, seed=11, each=1)`: Newton's method lands in another assembly.
AMISS = {
    "double-wishbone": (
        "43 71 153 296 348 361 376 395 538 595 600 756 776 814 842 844 950 969 1158 1488"
    ),
    "strut": "51 71 214 277 287 288 390 502 549 631 724 740 754 962 1043 1142 1344 1381 1400 1415",
    "twin-link-strut": (
        "217 229 253 286 527 664 674 1031 1044 1063 "
        "1164 1355 1377 1535 1649 1798 1916 1998 2007 2026"
    ),
    "five-link": (
        "130 323 396 409 514 569 637 675 864 885 914 1082 1117 1180 1430 1447 1476 1518 1579 1718"
    ),
    "beam-axle": (
        "188 539 576 643 1200 1214 1243 1245 1604 1755 "
        "2268 2277 2278 2461 2671 2697 3059 3060 3125 3202"
    ),
}
# Of `extreme_places(layout, 400, seed=20, each=1)`: steered so at the measured height, it jams.
OUT_OF_REACH_AS_MEASURED = {
    "double-wishbone": "53 59 85 89 127 193",
    "strut": "25 70 114 148 183 199",
    "twin-link-strut": "1 37 45 142 176 235",
    "five-link": "33 109 138 237 247 286",
    "beam-axle": "14 25 30 46 50 146",
}


def few_or(count: int) -> pytest.MarkDecorator:
    """Two cars in a quick run, all of them in a slow one."""
    return pytest.mark.parametrize("count", [2, pytest.param(count, marks=pytest.mark.slow)])


def listed(rows: str, count: int) -> Array:
    return np.array(rows.split()[:count], dtype=int)


def assert_right(verdict: Verdict) -> None:
    assert (verdict.flipped, verdict.refused, verdict.given) == ([], [], [])


def said_of(layout: str, verdict: Verdict) -> str:
    """Count what was found, in a line."""
    counts = ", ".join(f"{len(rows)} {kind}" for kind, rows in vars(verdict).items())
    return f"\n{layout}: {counts}"


@few_or(20)
@LAYOUTS
def test_cars_on_which_newtons_method_lands_in_another_assembly_keep_theirs(layout, count):
    rows = listed(AMISS[layout], count)
    places = extreme_places(layout, 3500, seed=11, each=1).rows(rows)
    assert leaps_amiss(places.cars, places.rack, places.travel).all()
    verdict = Verdict.of(places)
    assert len(verdict.agreed) == count
    assert_right(verdict)


@few_or(6)
@LAYOUTS
def test_a_rack_travel_that_jams_at_the_measured_height_is_reached_at_the_used_one(layout, count):
    """The way starts at the height that is used, wherever the measured one lies."""
    rows = listed(OUT_OF_REACH_AS_MEASURED[layout], count)
    drawn = extreme_places(layout, 400, seed=20, each=1).rows(rows)
    used = replace(drawn, travel=drawn.ride)
    as_measured = replace(drawn, ride=0.0 * drawn.ride, travel=0.0 * drawn.ride)
    assert np.isnan(as_measured.by_small_steps().turns[:, 0, 0]).all()
    verdict = Verdict.of(used)
    assert len(verdict.agreed) == count
    assert_right(verdict)


@pytest.mark.slow
@LAYOUTS
def test_a_height_just_within_reach_is_given_and_one_just_beyond_is_not(layout):
    drawn = extreme_places(layout, 12, seed=40, each=1)
    away = np.sign(drawn.travel - drawn.ride)
    ends = replace(drawn, travel=drawn.ride + 250.0 * away).by_small_steps()
    ended = np.isnan(ends.turns[:, 0, 0]) & (ends.rack == drawn.rack) & ends.stood
    rows = np.flatnonzero(ended & (np.abs(ends.height - drawn.ride) > BESIDE_MM))
    assert rows.size >= 4
    last = replace(drawn, travel=ends.height).rows(rows)
    for beside in (-BESIDE_MM, BESIDE_MM):
        verdict = Verdict.of(replace(last, travel=last.travel + beside * away[rows]))
        assert len(verdict.agreed) == rows.size
        assert_right(verdict)


@LAYOUTS
def test_a_pose_is_found_alike_alone_and_among_others(layout):
    """Also where it is walked to, and where some have no way."""
    drawn = extreme_places(layout, 1, seed=30, each=6)
    car = drawn.cars[0]
    inner = car.inner + drawn.rack[:, None] * LEFT
    rod = Rod(inner, car.outer, np.asarray(car.length), car.inner, np.asarray(drawn.ride[0]))
    batch = rod_motion(linkage(layout, car), drawn.travel, rod)
    for row in range(6):
        alone = drawn.motion(row)
        assert batch.reach[row] == alone.reach
        np.testing.assert_allclose(batch.rotation[row], alone.rotation, rtol=0, atol=SAME_ROTATION)


@few_or(400)
@LAYOUTS
def test_extreme_cars_neither_flip_nor_are_refused(layout, count, capsys):
    verdict = Verdict.of(extreme_places(layout, count, seed=2, each=1))
    with capsys.disabled():
        print(said_of(layout, verdict))  # noqa: T201
    assert_right(verdict)
