"""Choosing by the mean peak over the possible cars against choosing by the car as measured.

What each choice lost is kept in tests/golden, car by car; some cars of each kind are judged again
by every slow run.  To judge all anew (a quarter of an hour) and to write the guide's table, delete
tests/golden/choosing.csv and run
``pytest tests/optimizer/possible_cars/test_choosing.py --accept-golden -s``.
"""

import re
from dataclasses import astuple

import numpy as np
import pytest

from tests.slow_study import SlowStudy

from .choosing import SEED, Lost, losses
from .true_cars import EVERY_KIND

STUDY = SlowStudy(
    "choosing",
    ("kind",),
    Lost,
    decimals=6,
    guide="optimizer/reports/README.md",
    shown=re.compile(r"```text\n(?=lost on average)(.*?)```", re.DOTALL),
)
COUNT = 300  # cars of each kind
AGAIN = 15
LOST_ATOL_DEG = 6e-7  # half of the last digit kept, and a little
SURE = 3.0  # standard deviations
NAME, CELL, WIDE = 24, 10, 18


@pytest.fixture(scope="module")
def found(request: pytest.FixtureRequest):
    return STUDY.found(request, lambda: {kind.name: losses(kind, COUNT) for kind in EVERY_KIND})


def gains(cars, known):
    """What choosing by the mean peak saves on each car, (N,). [deg].

    The mean over many cars that might as well have been the true one.
    """
    return np.array([getattr(car, f"{known}_saved") for car in cars])


def gains_in_truth(cars):
    """What choosing by the mean peak after a sweep saved on the true cars, (N,). [deg]."""
    return np.array([car.sweep_nominal - car.sweep_expected for car in cars])


def off(gain):
    """One standard deviation of a mean gain. [deg]."""
    return gain.std(ddof=1) / np.sqrt(gain.size)


def table(found):
    """Mean losses by each choice, and what the mean peak saves, in thousandths of a degree."""
    lines = [
        f"{'lost on average, deg':{NAME}}{'tape alone':>{2 * CELL}}{'one sweep':>{2 * CELL}}"
        f"{'saved, 0.001 deg':>{2 * WIDE}}",
        f"{'':{NAME}}{'measured':>{CELL}}{'mean':>{CELL}}{'measured':>{CELL}}{'mean':>{CELL}}"
        f"{'tape':>{WIDE}}{'sweep':>{WIDE}}",
        "",
        f"{COUNT} cars of each kind, seed {SEED}",
    ]
    every = [car for cars in found.values() for car in cars]
    for name, cars in (found | {"all": every}).items():
        lost = np.mean([astuple(car) for car in cars], axis=0)[:4]
        lines.append(
            f"{name:{NAME}}"
            + "".join(f"{x:{CELL}.3f}" for x in lost)
            + "".join(f"{_told(gains(cars, known)):>{WIDE}}" for known in ("tape", "sweep"))
        )
    return "\n".join(lines) + "\n"


def _told(gain):
    return f"{1e3 * gain.mean():+.3f} +- {1e3 * off(gain):.3f}"


def test_every_kind_has_its_cars(found):
    assert {kind: len(cars) for kind, cars in found.items()} == {
        kind.name: COUNT for kind in EVERY_KIND
    }


@pytest.mark.parametrize("known", ["tape", "sweep"])
def test_choosing_by_the_mean_peak_loses_less_on_average(found, known):
    every = gains([car for cars in found.values() for car in cars], known)
    assert every.mean() > SURE * off(every)


def test_what_it_saved_on_the_true_cars_is_what_it_saves_on_others(found):
    every = [car for cars in found.values() for car in cars]
    apart = gains_in_truth(every) - gains(every, "sweep")
    assert abs(apart.mean()) < SURE * off(apart)


@pytest.mark.parametrize("known", ["tape", "sweep"])
def test_on_no_layout_does_it_lose_significantly_more(found, known):
    for kind, cars in found.items():
        gain = gains(cars, known)
        assert gain.mean() >= -SURE * off(gain), kind


def test_a_sweep_saves_more_than_any_way_of_choosing(found):
    every = [car for cars in found.values() for car in cars]
    lost = np.mean([astuple(car) for car in every], axis=0)
    assert max(lost[2:4]) < 0.2 * min(lost[:2])


@pytest.mark.slow
@pytest.mark.parametrize("kind", EVERY_KIND, ids=lambda kind: kind.name)
def test_the_first_cars_of_each_kind_lose_what_they_did(found, kind):
    for now, then in zip(losses(kind, AGAIN), found[kind.name], strict=False):
        assert astuple(now) == pytest.approx(astuple(then), abs=LOST_ATOL_DEG)


def test_the_guide_shows_this_table(found, request, capsys):
    STUDY.check_guide(table(found), request, capsys)
