"""Choosing by the mean peak over the possible cars against choosing by the car as measured.

What each choice lost is kept in tests/golden, car by car; some cars of each kind are judged again
by every slow run.  To judge all anew (a quarter of an hour) and to write the guide's table, delete
tests/golden/choosing.csv and run
``pytest tests/optimizer/possible_cars/test_choosing.py --accept-golden -s``.
"""

import csv
import re
from dataclasses import astuple, fields
from pathlib import Path

import numpy as np
import pytest

from tests.guide_table import check_guide

from .choosing import SEED, Lost, losses
from .true_cars import EVERY_KIND

KEPT = Path(__file__).parents[2] / "golden" / "choosing.csv"
GUIDE = Path(__file__).parents[3] / "optimizer/reports/README.md"
SHOWN = re.compile(r"```text\n(?=lost on average)(.*?)```", re.DOTALL)
COUNT = 300  # cars of each kind
AGAIN = 15
DECIMALS = 6  # of a degree
LOST_ATOL_DEG = 6e-7  # half of the last digit kept, and a little
SURE = 3.0  # standard deviations
NAME, CELL, WIDE = 24, 10, 18


@pytest.fixture(scope="module")
def found(request: pytest.FixtureRequest):
    if request.config.getoption("accept_golden") and not KEPT.exists():
        keep({kind.name: losses(kind, COUNT) for kind in EVERY_KIND})
    return kept()


def keep(found):
    with KEPT.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["kind", *(field.name for field in fields(Lost))])
        for kind, cars in found.items():
            writer.writerows([kind, *(f"{x:.{DECIMALS}f}" for x in astuple(car))] for car in cars)


def kept():
    found = {}
    with KEPT.open(encoding="utf-8", newline="") as file:
        for kind, *lost in list(csv.reader(file))[1:]:
            found.setdefault(kind, []).append(Lost(*map(float, lost)))
    return found


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
    check_guide(GUIDE, SHOWN, table(found), request, capsys)
