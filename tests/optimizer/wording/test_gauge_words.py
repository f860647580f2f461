"""Each sentence that `gauge` says, from the fact that it is made of."""

from typing import get_args

import pytest

from optimizer.models import questions, remedies, sweeps
from optimizer.models.answer import Fact
from optimizer.models.next_reading import NextReading
from optimizer.models.remedies import (
    BetweenHeights,
    CountedFrom,
    CurvatureUnknown,
    CurveShape,
    FromShelf,
    HeightError,
    HeldAgainstBand,
    LengthError,
    Matters,
)
from optimizer.models.setting import BandVerdict
from optimizer.models.sweeps import Contradiction, Lesson, SideFinding
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.wording.question_sentences import QUESTIONS
from tests.optimizer.wording.readers import INCHES, MM

TWO = {"before": "One", "after": "Two", "units": "mm"}
SOURCE = " (Bands: common practice, no source.)"
SAME_WAY = (
    "Shims can't cure the part that goes the same way in bump and droop: it is a length error"
)


def side(kind: str, **found: object) -> SideFinding:
    return SideFinding(kind=kind, units="mm", other="right", **found)


MAKER = {
    "units": "mm",
    "first_mm": 0.0,
    "second_mm": -60.0,
    "least_deg": 0.1,
    "most_deg": 0.2,
}
NOTHING_OF_IT = {
    "units": "mm",
    "target_mm": -4.0,
    "stack_mm": (),
    "height_mm": 0.0,
    "left_deg_per_10mm": 0.05,
}
SENTENCES: list[tuple[Fact, str]] = [
    *QUESTIONS,
    (CountedFrom(kind="band"), "All of this counts from the middle of the wanted band."),
    (
        CountedFrom(kind="gain", gain_deg_per_10mm=-0.05),
        "All of this counts beyond the wanted gain of -0.050 deg per 10 mm.",
    ),
    (CurveShape(kind="keeps"), "The wheel keeps its toe within the wanted tolerance."),
    (
        CurveShape(kind="keeps-as-swept"),
        "The wheel keeps its toe within the wanted tolerance as far as it was swept.",
    ),
    (CurveShape(kind="bump", way="out"), "The wheel toes out in bump; droop is not judged."),
    (CurveShape(kind="droop", way="in"), "The wheel toes in in droop; bump is not judged."),
    (CurveShape(kind="c", way="in"), "The wheel toes in both in bump and in droop (a C)."),
    (CurveShape(kind="slope", way="in"), "The wheel toes in in bump and toes out in droop."),
    (
        CurveShape(kind="lopsided-slope", way="out"),
        "The wheel toes out in bump and toes in in droop, lopsidedly.",
    ),
    (
        HeightError(kind="arms-unknown"),
        "That slope is a height error. Which way to move depends on where the steering arms are: "
        "state arms, ahead of or behind the axle.",
    ),
    (
        HeightError(kind="lengths-unknown", arms="ahead", cure="raise-outer"),
        "That slope is a height error (steering arms ahead of the axle): raise the outer pivot or "
        "lower the rack. With rod_length and steering_arm the amount can be said too.",
    ),
    (
        HeightError(
            kind="amount", arms="behind", cure="lower-outer", by_mm=9.0, worth_deg_per_mm2=0.0014
        ),
        "That slope is a height error (steering arms behind the axle): lower the outer pivot or "
        "raise the rack, by about 9.0 mm from what is fitted now (first order, front view; 1 mm is "
        "worth 2.1 minutes per 25.0 mm of travel).",
    ),
    (
        HeightError(
            kind="tried",
            arms="behind",
            cure="lower-outer",
            by_mm=9.0,
            worth_deg_per_mm2=0.0014,
            times_tried=3.6,
        ),
        "That slope is a height error (steering arms behind the axle): lower the outer pivot or "
        "raise the rack, by about 9.0 mm from what is fitted now (by what the other stack did; 1 "
        "mm is worth 2.1 minutes per 25.0 mm of travel). That is 4 times what was tried: fit half "
        "of it, sweep again, and ask once more.",
    ),
    (
        HeightError(kind="worth", arms="behind", cure="lower-outer", worth_deg_per_mm2=0.0014),
        "That slope is a height error (steering arms behind the axle): lower the outer pivot or "
        "raise the rack (1 mm is worth 2.1 minutes per 25.0 mm of travel, first order, front "
        "view); how much is told under what to fit next.",
    ),
    (
        HeightError(
            kind="worth-by-points", arms="ahead", cure="raise-outer", worth_deg_per_mm2=0.0014
        ),
        "That slope is a height error: raise the outer pivot or lower the rack (1 mm is worth 2.1 "
        "minutes per 25.0 mm of travel, by the points); how much is told under what to fit next.",
    ),
    (
        FromShelf(
            units="in",
            from_seat=True,
            target_mm=6.5,
            stack_mm=(3.175, 3.175),
            height_mm=6.35,
            left_deg_per_10mm=-0.002,
        ),
        "Of the shelf: 2 x 3.175, 0.250 in in all from the standard seat (0.256 in asked for); "
        "that leaves a slope of -0.002 deg per 10 mm.",
    ),
    (
        FromShelf(**NOTHING_OF_IT, from_seat=True),
        "Of the shelf: nothing; the outer pivot must go 4.0 mm above its standard seat, which no "
        "shim under it does: lower the rack, or fit the joint to the arm's other side.",
    ),
    (
        FromShelf(**NOTHING_OF_IT, from_seat=False),
        "Of the shelf: nothing to add; 4.0 mm must come out of what is fitted, or the rack go "
        "down.",
    ),
    (
        LengthError(kind="arms-unknown"),
        f"{SAME_WAY}; state arms, ahead or behind, to hear which way.",
    ),
    (
        LengthError(kind="lengths-unknown", cure="lengthen-rod"),
        f"{SAME_WAY}; the tie rod is too short: move the inner pivot inboard or the outer pivot "
        "outboard.",
    ),
    (
        LengthError(kind="amount", cure="shorten-rod", by_mm=3.21),
        f"{SAME_WAY}; the tie rod is too long: move the inner pivot outboard or the outer pivot "
        "inboard, by about 3.2 mm.",
    ),
    (
        CurvatureUnknown(low_mm=-40.0, high_mm=40.0, tells_mm=0.0),
        "Two heights tell the mean slope between -40 mm and 40 mm; what goes the same way in bump "
        "and droop is not known. One more reading at ride height would tell it.",
    ),
    (
        CurvatureUnknown(low_mm=-60.0, high_mm=0.0, tells_mm=-30.0),
        "Two heights tell the mean slope between -60 mm and 0 mm; what goes the same way in bump "
        "and droop is not known. One more reading at travel -30.0 mm would tell it.",
    ),
    (
        BetweenHeights(**MAKER, change_deg=0.12, beyond_deg=0.0),
        "From 0 mm to -60 mm, as the rows count heights, toe changes by +0.120 deg: inside what "
        "the maker wants (+0.100 to +0.200 deg).",
    ),
    (
        BetweenHeights(**MAKER, change_deg=0.28, beyond_deg=0.08),
        "From 0 mm to -60 mm, as the rows count heights, toe changes by +0.280 deg: 0.080 deg "
        "outside what the maker wants (+0.100 to +0.200 deg).",
    ),
    (
        Matters(kind="within", slope_in_per_in=0.0),
        "It does not matter: toe stays within the tolerance over the used travel.",
    ),
    (
        Matters(kind="within-as-swept", slope_in_per_in=0.0),
        "It does not matter: toe stays within the tolerance over the part that was swept.",
    ),
    (
        Matters(kind="rear", slope_in_per_in=0.05, way="in"),
        "Does it matter? At 0.050 in per in: no band that is accepted for a rear axle is known "
        "here. A maker may mean some toe change at the rear: hold it against the maker's band, if "
        "there is one (aim.band). Toe-in in bump is the milder way at the rear: as the body rolls, "
        "the outer wheel turns into the bend and steadies the tail.",
    ),
    (
        Matters(kind="race", slope_in_per_in=0.018, settled=True),
        "Does it matter? At 0.018 in per in it is inside what racers accept (0.020 in per in); "
        f"under 5 minutes felt settled to kit-car builders.{SOURCE}",
    ),
    (
        Matters(kind="oval", slope_in_per_in=0.025),
        "Does it matter? At 0.025 in per in it is more than racers accept (0.020 in per in), near "
        f"what is often quoted for paved ovals (0.030).{SOURCE}",
    ),
    (
        Matters(kind="production", slope_in_per_in=0.08, way="out"),
        "Does it matter? At 0.080 in per in with toe-out in bump it is about what production cars "
        "have, 0.023 to 0.115 in per in of toe-out in bump. Toe-out in bump is the milder way: as "
        "the body rolls, the outer wheel steers out of the bend a little, which is felt as "
        f"understeer.{SOURCE}",
    ),
    (
        Matters(kind="toe-in", slope_in_per_in=0.08, way="in"),
        "Does it matter? At 0.080 in per in with toe-in in bump it is more than racers accept "
        "(0.020 in per in), and no production car's: those toe out in bump. Toe-in in bump is the "
        "worse way on the road: as the body rolls, the outer wheel steers further into the bend "
        f"and the car turns in more than it was asked to.{SOURCE}",
    ),
    (
        Matters(kind="darts", slope_in_per_in=0.0, rate_in_per_in=0.262),
        "Does it matter? At 0.000 in per in at ride height, but up to 0.262 on the way to an end "
        "of the travel, it is more than production cars have (0.115 in per in of toe-out in bump): "
        f"the car will dart over bumps.{SOURCE}",
    ),
    (
        HeldAgainstBand(side=None, verdict=BandVerdict(what="readings", judged=11, outside=0)),
        "The curve is inside the wanted band at all 11 readings that it covers.",
    ),
    (
        HeldAgainstBand(
            side="right",
            verdict=BandVerdict(
                what="readings", judged=11, outside=4, travel_mm=-50.0, beyond_deg=0.05
            ),
        ),
        "The right wheel's curve is outside the wanted band at 4 of 11 readings, most at travel "
        "-50 mm: 0.050 deg more toe-in than it allows.",
    ),
    (
        Lesson(**TWO, worth_deg_per_mm2=-0.002, tried_mm=5.0, wanted_mm=12.5),
        'From "One" to "Two" each 1 mm of outer drop plus rack raise was worth -0.0200 deg per 10 '
        "mm.",
    ),
    (
        Lesson(**TWO, worth_deg_per_mm2=-0.002, tried_mm=5.0, wanted_mm=12.5, arms="ahead"),
        'From "One" to "Two" each 1 mm of outer drop plus rack raise was worth -0.0200 deg per 10 '
        "mm. So the steering arms are ahead of the axle: elsewhere it would have turned the curve "
        "the other way.",
    ),
    (
        Lesson(
            **TWO | {"units": "in"},
            worth_deg_per_mm2=-0.1 / 25.4 / 6.35,
            tried_mm=6.35,
            wanted_mm=12.7,
        ),
        'From "One" to "Two" each 1/32 in of outer drop plus rack raise was worth -0.0125 deg per '
        "inch.",
    ),
    (
        Contradiction(**TWO, kind="same-parts", by_deg_per_10mm=0.04),
        '"One" and "Two" have the same parts fitted, yet their slopes differ by 0.040 deg per 10 '
        "mm: have ride height, caster, camber or the gauge changed in between, or is there play?",
    ),
    (
        Contradiction(**TWO, kind="wrong-way", height_mm=-25.0, arms="behind", went="in"),
        'From "One" to "Two" the outer pivot was raised (or the rack lowered) by 25.0 mm. With '
        "steering arms behind the axle that turns the curve toward toe-out in bump, but the "
        "readings went toward toe-in. One of these is wrong: the place of the arms, the sign of "
        "toe (reading_grows), the sign of travel, or which stack belongs to which sweep.",
    ),
    (
        Contradiction(**TWO, kind="odd-worth", height_mm=3.0, as_mm=9.0),
        'Are the stacks as typed? From "One" to "Two" the slope changed as 9.0 mm of height would '
        "change it, but the stacks differ by 3.0 mm. Count the pieces first, then look at "
        "rod_length, steering_arm and the gauge's lengths.",
    ),
    (
        side("alike", by_deg=0.011),
        "The wheels pass for mirror images: beyond what different stacks explain, they differ by "
        "at most 0.011 deg.",
    ),
    (
        side("differ", travel_mm=-50.0, way="in", by_deg=0.2),
        "The sides differ: at travel -50 mm this wheel toes in by 0.200 deg more than the right "
        "one. Each side needs a stack of its own.",
    ),
    (
        side("changed-over", stacks_mm=3.8, height_mm=7.5),
        "The stacks differ by 3.8 mm and the slopes as 7.5 mm of height would make them: changed "
        "over, the sides would agree. Were the shims fitted on the wrong sides?",
    ),
    (
        side("slopes", height_mm=7.5),
        "Their slopes differ, as 7.5 mm of height at one outer pivot would make: look for shims on "
        "the wrong side, a rack that is not level, or a bent steering arm or upright.",
    ),
    (
        side("slopes"),
        "Their slopes differ: look for shims on the wrong side, a rack that is not level, or a "
        "bent steering arm or upright.",
    ),
    (
        side("curvatures"),
        "Their curvatures differ: look for tie rods of unequal length, a rack that is not "
        "centered, or a bent arm.",
    ),
]


@pytest.mark.parametrize(("fact", "words"), SENTENCES)
def test_a_fact_has_one_sentence(fact, words):
    assert sentence(fact, MM) == words


def test_every_family_and_every_kind_of_it_stands_above():
    families = {
        family
        for module in (questions, remedies, sweeps)
        for family in vars(module).values()
        if isinstance(family, type) and issubclass(family, Fact)
        if family.__module__ == module.__name__
    }
    wanted = {
        (family, kind)
        for family in families
        for kind in (
            get_args(family.model_fields["kind"].annotation)
            if "kind" in family.model_fields
            else [None]
        )
    }
    assert {(type(fact), getattr(fact, "kind", None)) for fact, _ in SENTENCES} == wanted


def test_a_height_is_written_as_finely_as_shims_come():
    found = HeightError(
        kind="amount", arms="behind", cure="lower-outer", by_mm=6.35, worth_deg_per_mm2=0.00107
    )
    assert "by about 0.250 in from what is fitted now" in sentence(found, INCHES)
    assert "1/32 in is worth 1.3 minutes per 1.000 in of travel" in sentence(found, INCHES)


def test_what_a_shim_is_worth_is_told_in_the_unit_of_toe():
    found = HeightError(kind="worth", arms="ahead", cure="lower-outer", worth_deg_per_mm2=0.0013)
    assert "1/32 in is worth 1.6 minutes per 1.000 in of travel" in sentence(found, INCHES)
    toe = INCHES.subject.model_copy(update={"toe_unit": "in", "toe_diameter_mm": 599.44})
    told = sentence(found, Reader(toe))
    assert "1/32 in is worth 0.011 in per 1.000 in of travel" in told


def test_a_rod_is_turned_by_a_length_that_its_owner_reads():
    one = NextReading(
        kind="rod_turned",
        minutes=2.0,
        loss_deg=0.01,
        enough_of_100=90.0,
        peak_mean_deg=0.1,
        meets_of_100=50.0,
        worth_it=True,
    )
    assert "turn the tie rod by two turns of 1.5 mm and read again" in sentence(one, MM)
    assert "turn the tie rod by two turns, about 1/8 in, and read again" in sentence(one, INCHES)
