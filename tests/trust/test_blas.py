"""The same answer whatever linear algebra runs on: how many threads, which processor's kernels."""

import json
import os
import subprocess
import sys
from itertools import zip_longest

import pytest

from tests.optimizer.command_line import CASES, ROOT

DIGITS = 1e-9  # relative; kernels of another processor add in another order
ROOMY = [
    path for path in sorted(CASES.glob("*.toml")) if "[custom_pivot]" in path.read_text("utf-8")
]


def told(car: object, *more: object, **environment: str) -> str:
    command = [sys.executable, "-m", "optimizer.cli", "suggest", car, "--custom", *more]
    return subprocess.run(
        list(map(str, command)),
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        env=os.environ | environment,
    ).stdout


def leaves(told: object, at: str = "") -> list[tuple[str, object]]:
    """Every value of a document, with its place."""
    if isinstance(told, dict):
        return [leaf for key, value in told.items() for leaf in leaves(value, f"{at}.{key}")]
    if isinstance(told, list):
        return [leaf for k, value in enumerate(told) for leaf in leaves(value, f"{at}[{k}]")]
    return [(at, told)]


@pytest.mark.parametrize(
    ("car", "more"),
    [
        (ROOMY[0].name, ()),
        *(
            pytest.param(car.name, more, marks=pytest.mark.slow)
            for car in ROOMY
            for more in ((), ("--kits", CASES / "kits.toml"))
        ),
    ],
)
def test_a_custom_pivot_is_the_same_to_the_last_digit_on_one_thread_and_on_two(car, more):
    one, two = (told(CASES / car, *more, "--json", OPENBLAS_NUM_THREADS=count) for count in "12")
    assert json.loads(one)["custom"]
    assert one == two


@pytest.mark.slow
@pytest.mark.parametrize("car", ROOMY, ids=lambda path: path.stem)
def test_an_older_processor_gives_the_same_report_and_the_same_figures_to_nine_digits(car):
    kernels = ({}, {"OPENBLAS_CORETYPE": "Prescott"})
    reports = [told(car, **kernel) for kernel in kernels]
    assert reports[0] == reports[1] != ""
    documents = [leaves(json.loads(told(car, "--json", **kernel))) for kernel in kernels]
    for (place, here), (other, there) in zip_longest(*documents):
        assert place == other
        assert here == (pytest.approx(there, rel=DIGITS, abs=DIGITS) if here != there else there)
