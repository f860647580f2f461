"""Every kind of fact has its words: no table of wording lacks one, or holds one too many."""

from typing import get_args

import pytest

from optimizer.models.cautions import CautionKind
from optimizer.models.check import OpenKind, PlaceKind, SizeKind, WayKind
from optimizer.models.comparison import Axis, CauseKind
from optimizer.models.curve import Ends
from optimizer.models.diagnosis import Steers
from optimizer.models.sheet import BLANKS, GaugeKind, StepKind
from optimizer.models.side_effects import GradientKind
from optimizer.wording import (
    cautions,
    comparison,
    curves,
    diagnosis,
    doubts,
    sheets,
    side_effects,
    steps,
)
from optimizer.wording.steps import NextStep


@pytest.mark.parametrize(
    ("table", "kinds"),
    [
        (doubts.PLACES, PlaceKind),
        (doubts.SIZES, SizeKind),
        (doubts.WAYS, WayKind),
        (doubts.OPEN, OpenKind),
        (comparison.CARRIERS, Axis),
        (comparison.WAYS, Axis),
        (comparison.CAUSES | {"carrier": ""}, CauseKind),
        (curves.ENDS, Ends),
        (sheets.STEPS, StepKind),
        (sheets.SET_UP, GaugeKind),
        (BLANKS, GaugeKind),
        (cautions.TEXTS, CautionKind),
        (diagnosis.STROKES, Steers),
        (side_effects.DEFINITIONS, GradientKind),
        (steps.STEPS, NextStep),
    ],
)
def test_every_kind_has_its_words(table, kinds):
    assert set(table) == set(get_args(kinds))
