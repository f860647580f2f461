"""Whether the chances that options carry come true, on thousands of cars whose truth is known.

Where the truths lie is kept in tests/golden; some cars of each kind are found out again by every
slow run.  To find out all anew (half an hour) and to write the guide's table, delete
tests/golden/calibration.csv and run
``pytest tests/optimizer/possible_cars/test_calibration.py --accept-golden -s``.
"""

from dataclasses import astuple

import numpy as np
import pytest
from scipy.stats import binomtest, chisquare

from .calibration import DRAWN, columns, places
from .reliability import (
    COUNTS,
    ONE_MODEL,
    QUESTIONS,
    STATED,
    STUDY,
    came_true,
    found_now,
    table,
)
from .true_cars import ANY_CAR, EVERY_KIND

AGAIN = 40  # cars of each kind
SAME_PLACE = 2  # of `DRAWN`; rounding may turn a car over
SURE = 1e-4  # chance of a false alarm of one of the tests below, of thirty rows


@pytest.fixture(scope="module")
def found(request: pytest.FixtureRequest):
    return STUDY.found(request, found_now)


def rows(found):
    """Kind, question and places of cars of which nothing is known but the tape."""
    return [
        (kind.name, name, placed)
        for kind in EVERY_KIND
        for name, placed in columns(found[ANY_CAR.name][kind.name]).items()
    ]


def test_a_thousand_cars_of_every_layout_are_kept(found):
    assert {
        name: {kind: len(cars) for kind, cars in kinds.items()} for name, kinds in found.items()
    } == {
        population.name: {kind.name: count for kind in kinds}
        for population, (kinds, count) in COUNTS.items()
    }
    assert {kind.layout for kind in EVERY_KIND} == {
        "strut",
        "double-wishbone",
        "twin-link-strut",
        "five-link",
        "beam-axle",
    }
    assert all(placed.size >= 990 for _, _, placed in rows(found))


def test_of_cars_known_by_tape_alone_every_stated_chance_comes_true_within_sampling(found):
    for kind, question, placed in rows(found):
        below = [int(np.sum(placed < (DRAWN + 1) * x / 100)) for x in STATED]
        for stated, count in zip(STATED, below, strict=True):
            chance = binomtest(count, placed.size, stated / 100.0).pvalue
            assert chance > SURE, (kind, question, stated, count / placed.size)


def test_truths_lie_as_often_in_one_tenth_of_the_cars_drawn_as_in_another(found):
    for kind, question, placed in rows(found):
        edges = (DRAWN + 1) * np.arange(11) / 10
        assert chisquare(np.histogram(placed, edges)[0]).pvalue > SURE, (kind, question)


def test_of_all_kinds_together_no_chance_is_off_by_two_in_a_hundred(found):
    for question in QUESTIONS:
        together = np.concatenate([x for _, name, x in rows(found) if name == question])
        assert 100.0 * came_true(together) == pytest.approx(STATED, abs=2.0), question


def test_cars_of_one_model_peak_lower_than_said_where_it_needs_little(found):
    """What is known beside the tape (cars alike lie near their model) is not in the chances."""
    of_strut = columns(found[ONE_MODEL.name]["strut"])["left"]
    assert came_true(of_strut)[STATED.index(50)] > 0.53


@pytest.mark.slow
@pytest.mark.parametrize("kind", EVERY_KIND, ids=lambda kind: kind.name)
def test_the_first_cars_of_each_kind_lie_where_they_did(found, kind):
    then = found[ANY_CAR.name][kind.name][:AGAIN]
    now = places(kind, ANY_CAR, AGAIN)
    for one, before in zip(now, then, strict=True):
        assert astuple(one) == pytest.approx(astuple(before), abs=SAME_PLACE)


def test_the_guide_shows_this_table(found, request, capsys):
    STUDY.check_guide(table(found), request, capsys)
