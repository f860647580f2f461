"""A mistake of who calls the library ends in one sentence, as at the command line."""

from math import nan

import pytest

from optimizer import PivotwrightError, gauge, reach, read_case, read_readings
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
