"""A mistake of who calls the library ends in one sentence, as at the command line."""

from math import nan

import pytest

from optimizer import (
    PivotwrightError,
    check,
    curve,
    gauge,
    reach,
    read_case,
    read_kits,
    read_readings,
    suggest,
    survey,
)
from optimizer.options.study.run import StudyPlan

from .command_line import CASES


@pytest.mark.parametrize("case", [None, "lowered-strut"])
@pytest.mark.parametrize(
    ("sweeps", "keys", "said"),
    [
        ([], {}, "readings: must hold one sweep or more"),
        (["lowered-strut"], {"seed": -1}, "seed must be 0 or more"),
        (["lowered-strut"], {"lowered_by": nan}, "lowered_by a number, got 0 and nan"),
    ],
)
def test_a_gauge_that_can_t_be_judged_says_why(case, sweeps, keys, said):
    read = [read_readings(CASES / "readings" / f"{name}.toml") for name in sweeps]
    car = None if case is None else read_case(CASES / f"{case}.toml")
    with pytest.raises(PivotwrightError, match=said):
        gauge(car, read, **keys)


def test_a_seed_below_0_is_refused():
    with pytest.raises(PivotwrightError, match="seed must be 0 or more, got -1"):
        StudyPlan(seed=-1)


@pytest.mark.parametrize("heights", [[], [0.0, nan]])
def test_heights_that_are_none_are_refused(heights):
    with pytest.raises(PivotwrightError, match="lowered_by: must hold one number or more"):
        reach(read_case(CASES / "lowered-strut.toml"), heights)


CAR = CASES / "lowered-strut.toml"
SWEEP = CASES / "readings" / "lowered-strut.toml"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (
            lambda: suggest(read_case(CAR), read_kits(CASES / "kits.toml")),
            r"kits .*\(FILE\)\.kits, got",
        ),
        (lambda: reach(read_case(CAR), [0.0], "kits.toml"), "kits must .*, got 'kits.toml'"),
        (lambda: gauge(read_case(CAR), read_readings(SWEEP)), "readings must be a list of what"),
        (lambda: gauge(None, ["sweep.toml"]), r"readings must .*, got \['sweep.toml'\]"),
        (lambda: suggest("car.toml"), "vehicle must be what read_case gives, got 'car.toml'"),
        (lambda: curve(None), "vehicle must be what read_case gives, got None"),
        (lambda: check(vehicle=CASES), "vehicle must be what read_case gives, got"),
        (lambda: reach(read_case(CAR), 20.0), "lowered_by must be .* a list of numbers, got 20.0"),
        (lambda: survey("car.toml"), "read must be what read_survey gives, got 'car.toml'"),
    ],
)
def test_an_argument_of_another_kind_is_told_what_to_pass(asked, said):
    with pytest.raises(PivotwrightError, match=said):
        asked()
