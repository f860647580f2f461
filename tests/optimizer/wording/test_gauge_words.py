"""Each sentence that `gauge` says, from the fact that it is made of."""

from typing import get_args

import pytest

from optimizer.models import questions, remedies, sweeps
from optimizer.models.answer import Fact
from optimizer.models.questions import (
    IdleShelf,
    NotToe,
    OtherArms,
    OtherAxle,
    OtherRack,
    OtherStack,
    OtherTravel,
    OtherWheel,
    OutOfReach,
    PlayFelt,
    PoorFit,
    Question,
    ShortStroke,
    Slip,
)
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
from optimizer.wording.sentences import sentence
from tests.optimizer.wording.readers import INCHES, MM

TWO = {"before": "One", "after": "Two", "units": "mm"}
SOURCE = " (Bands: common practice, no source.)"
SAME_WAY = (
    "Shims can't cure the part that goes the same way in bump and droop: it is a length error"
)


def asked(kind: str, units: str = "mm", **found: object) -> Question:
    return Question(kind=kind, units=units, **found)


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
SLIP = (
    "Toe that a side load changes and that does not come back is slip: a clamp, mount or joint "
    "moves. Toe that comes back, but differs between up and down, is play. Toe that follows the "
    "travel alike both ways is a curve, and so is static toe that drifts with ride height: "
    "it is back when the height is."
)


SENTENCES: list[tuple[Fact, str]] = [
    (
        asked("large-change-in-degrees", by_deg=13.04),
        "Toe changes by 13.0 deg over the sweep: are these minutes typed as degrees "
        '(angle_unit = "min")?',
    ),
    (
        asked("large-change", by_deg=13.04),
        "Toe changes by 13.0 deg over the sweep: are units and the gauge's lengths right?",
    ),
    (
        asked("seconds-of-arc", by_deg=12.0 / 3600.0),
        "Toe changes by only 12 seconds of arc: were minutes written down as seconds, or divided "
        "by 60 twice?",
    ),
    (
        asked("droop-without-minus"),
        "Travel rises and falls, but no height is below 0: did the droop readings lose their minus "
        "sign?",
    ),
    (
        asked("minus-lost"),
        "Toe goes the same way in bump and in droop, with a kink at ride height, and no reading is "
        "negative: did the minus signs get lost on one side?",
    ),
    (
        asked("row-apart", rows=(7,), travel_mm=20.0, by_deg=0.2),
        "readings[7] (travel 20 mm) stands apart from the others by 0.200 deg and was left out: "
        "read it again?",
    ),
    (
        asked("scatter", by_deg=0.7071),
        "The rows scatter by 0.707 deg about one curve, more than a gauge does: is a row mistyped, "
        "or does something bind or move that should not?",
    ),
    (
        asked("odd-step", usual_mm=10.0, travel_mm=-20.0, to_mm=0.0),
        "Travel steps by 10 mm, but from -20 mm to 0 mm: is a row missing or a height mistyped?",
    ),
    (
        asked("ride-height-outside"),
        "Ride height lies outside the heights that were read: what is said of slope there is drawn "
        "out from the curve. Is at_ride_height right?",
    ),
    (
        asked("ride-height-not-read"),
        "No row is at ride height: toe there is taken from the curve.",
    ),
    (
        asked("odd-reach", travel_mm=2.0),
        "Travel reaches 2 mm from ride height: were inches typed in a file of mm?",
    ),
    (
        asked("odd-reach", "in", travel_mm=400.05),
        "Travel reaches 15.75 in from ride height: were millimeters typed in a file of in?",
    ),
    (
        asked("turns-added", rows=(5, 6)),
        "Turns of the hand that the dial does not show were added to readings[5], readings[6], "
        "counted from the lowest height: is the count right?",
    ),
    (
        asked("half-turn"),
        "Between two heights a hand moves by nearly half a turn, so its turns can't be counted "
        "with certainty: read in smaller steps of travel.",
    ),
    (
        asked("radius-for-diameter", spacing_mm=330.0, diameter_mm=650.0),
        "spacing is 330 mm, half of the tire's 650 mm: was a radius taken for a diameter?",
    ),
    (
        asked("gauge-below-tire", "in", spacing_mm=508.0, diameter_mm=609.6),
        "The gauge reads over 20 in, the tire is 24 in: at the tire every toe distance is 1.20 "
        "times what the gauge shows.",
    ),
    (
        asked("narrow-gauge", spacing_mm=250.0),
        "spacing is 250 mm: is that half of the distance between the two places where the gauge "
        "reads?",
    ),
    (
        asked("play", by_deg=0.04),
        "Up and down strokes differ by 0.040 deg: look for play or stiction in rod ends, bushings "
        "and wheel bearing before shimming.",
    ),
    (
        asked("no-diameter", diameter_mm=650.0),
        "No diameter is stated (car.tire_diameter), so slopes in inch per inch are taken at 650 "
        "mm.",
    ),
    (
        asked("lone-dial"),
        "One dial on its own also sees the wheel move sideways and change camber: without the "
        "points of a case that can't be told from toe. Use two dials, or a roller.",
    ),
    (
        asked("lone-target"),
        "One target on its own also sees the wheel move sideways: use a second target on the other "
        "side of the axle, or turn the beam round and sweep again.",
    ),
    (
        asked("angle-sign"),
        "Degrees without a sign of their own: toe-in is taken as positive. Is that how they were "
        'written (reading_grows = "toe-in" or "toe-out")?',
    ),
    (
        asked("angle-wheels"),
        "Is that the toe of this wheel, as it is taken, or of both wheels together (total = false "
        "or true)?",
    ),
    (
        PlayFelt(kind="meaningless", of="inner", by_deg=4.29, swing_deg=1.2),
        "The sweep says nothing: the rack's slide in its mounts makes 4.29 deg of toe, the whole "
        f"sweep changes it by 1.20 deg. Take that slide out before the next sweep. {SLIP}",
    ),
    (
        PlayFelt(kind="noise", of="gauge", by_deg=0.1, swing_deg=1.2),
        "Play that push and pull by hand shows makes 0.10 deg of toe, the whole sweep changes it "
        "by 1.20 deg: it is counted as noise. Find the joint, bearing or mount that moves and put "
        f"it right before the next sweep. {SLIP}",
    ),
    (
        PlayFelt(kind="arm-unknown", of="inner", swing_deg=1.2),
        "The rack's slide in its mounts can't be weighed without car.steering_arm: its toe is the "
        f"slide over that length. Take that slide out before the next sweep. {SLIP}",
    ),
    (
        OtherAxle(said="rear", measured="front"),
        "The readings are of a rear wheel, the case is of a front one: do they belong together?",
    ),
    (
        OtherArms(said="ahead", measured="behind"),
        "The readings say that the steering arms are ahead of the axle, the points of the case "
        "that they are behind the axle: which is right?",
    ),
    (
        OtherTravel(units="mm", bump_mm=40.0, droop_mm=45.0, case_bump_mm=50.0, case_droop_mm=60.0),
        "The readings say that the car uses 40 mm of bump and 45 mm of droop, the case says 50 mm "
        "and 60 mm: it is the case's travel that is judged.",
    ),
    (
        IdleShelf(),
        "The shelf of the readings is not used beside a case: the next stack is built from the "
        "case's own hardware. Are the pieces at hand in the case?",
    ),
    (
        OtherWheel(said="right", measured="left"),
        "The readings are of the right wheel, the case is of the left one: they are taken for its "
        "mirror image. Is the car symmetric?",
    ),
    (
        OtherRack(left_mm=0.0, right_mm=2.0, taken_mm=2.0),
        "The last sweep of the left wheel has the rack raised by 0 mm, that of the right wheel by "
        "2 mm, but it serves both: 2 mm is taken, as in the last sweep given. Is that how it is "
        "now?",
    ),
    (
        ShortStroke(stroke="bump", units="mm", used_mm=70.0, swept_mm=30.0),
        "The car uses 70 mm of bump, but only 30 mm of it was swept; the rest is not judged. Sweep "
        "on, if the joints allow it.",
    ),
    (
        NotToe(units="mm", travel_mm=-40.0, shown_deg=0.31, no_toe_deg=-0.052),
        "At travel -40 mm this gauge shows +0.310 deg, of which -0.052 deg is no toe, by the "
        "case's points, but the wheel moving sideways and changing camber. That is taken off here, "
        "as well as the points are known; two dials need no such correction.",
    ),
    (
        OutOfReach(sweep="First", units="mm", travel_mm=(380.0, 390.0)),
        "\"First\": the points of the case can't reach travel 380 mm, 390 mm, so those rows don't "
        "correct them: is the sweep of this car, with this ride height?",
    ),
    (
        OtherStack(
            sweep="Second",
            units="mm",
            typed_mm=11.0,
            explains_mm=6.0,
            give_or_take_mm=0.31,
            probability=0.93,
            tape_sigmas=3.44,
        ),
        'Is the stack of "Second" as typed? 11 mm is typed; 6 mm (give or take 0.3 mm) at the '
        "outer pivot, or as much less or more at the rack, would explain the readings. That a "
        "stack is mistyped is 93 % likely; the rest is a point that is 3.4 standard deviations of "
        "its tape off. Count the pieces before anything is measured again.",
    ),
    (
        PoorFit(times=5.21),
        "Even with its points moved, the model misses the readings by 5.2 times their noise: "
        "something bends, binds or is not as the case says.",
    ),
    *(
        (
            Slip(kind=kind),
            f"As typed, the readings don't fit the points within their accuracy; {would}",
        )
        for kind, would in {
            "turned": "turned round they would: is reading_grows right, and were front and rear, "
            "or plus and minus, kept apart?",
            "exchanged": "with bump and droop exchanged they would: is the sign of travel right?",
            "doubled": "twice the toe would: was a radius taken for a diameter, or one wheel's toe "
            "for half of both?",
            "halved": "half of the toe would: was a diameter taken for a radius, or the toe of "
            "both wheels typed as that of one?",
            "times-60": "60 times the toe would: were minutes typed as seconds, or degrees as "
            "minutes?",
            "by-60": "a 60th of the toe would: were minutes typed as degrees?",
            "inches": "25.4 times the toe would: were inches typed where the file says mm?",
            "millimeters": "a 25.4th of the toe would: were millimeters typed where the file says "
            "inches?",
        }.items()
    ),
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
