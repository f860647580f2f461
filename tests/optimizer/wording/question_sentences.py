"""Each question that `gauge` asks about readings, with the fact that it is made of."""

from optimizer.models.answer import Fact
from optimizer.models.questions import (
    IdleShelf,
    NotBuilt,
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
    SidesExchanged,
    Slip,
)

SLIP = (
    "Toe that a side load changes and that does not come back is slip: a clamp, mount or joint "
    "moves. Toe that comes back, but differs between up and down, is play. Toe that follows the "
    "travel alike both ways is a curve, and so is static toe that drifts with ride height: "
    "it is back when the height is."
)


def asked(kind: str, units: str = "mm", **found: object) -> Question:
    return Question(kind=kind, units=units, **found)


QUESTIONS: list[tuple[Fact, str]] = [
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
        asked("minus-lost", column="front"),
        "No front reading is below 0, and the rows have a kink; with some of them below 0 "
        "they would lie on a smooth curve: did minus signs get lost?",
    ),
    (
        asked("rows-changed-over", rows=(3, 4)),
        "readings[3], readings[4] would lie on a smooth curve as each other's: were the two "
        "changed over?",
    ),
    (
        asked("gauge-slipped", travel_mm=20.0, to_mm=30.0, by_deg=0.115),
        "From travel 30 mm up all rows lie 0.115 deg beside the curve of those up to 20 mm: did "
        "the gauge slip between the two, or go by a turn uncounted? Does it read at ride height "
        "what it did?",
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
        asked("column-alike", column="rear"),
        "The rear reading is the same in every row. Unless the gauge was set to it at every "
        "height: was that place never read, or did the gauge not touch there? One dial alone is a "
        "kind of its own (single-dial).",
    ),
    (
        asked("zeroed-elsewhere", travel_mm=40.0),
        "The gauge reads zero at travel 40 mm and not at ride height, where it is zeroed as a "
        "rule: is that the ride height (at_ride_height), or was travel counted from another one?",
    ),
    (
        asked("all-alike"),
        "All rows read the same: did the gauge touch, and are the rows filled in?",
    ),
    (
        asked("narrow-gauge", spacing_mm=250.0),
        "spacing is 250 mm: is that the whole distance between the two places where the gauge "
        "reads, and is it in mm?",
    ),
    (
        asked("near-dial", spacing_mm=125.0),
        "dial_distance is 125 mm: is that the whole distance from the axle to the dial, and is it "
        "in mm?",
    ),
    (
        asked("wide-gauge", spacing_mm=1000.0),
        "spacing is 1000 mm, more than most tires: is that the distance between the two places "
        "where the gauge reads, and is it in mm?",
    ),
    (
        asked("far-dial", spacing_mm=500.0),
        "dial_distance is 500 mm, beyond most tires: is it counted from the axle and not from "
        "another dial, and is it in mm?",
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
        SidesExchanged(),
        "As typed, the sweeps of the two wheels do not fit the points within their accuracy; with "
        "left and right exchanged they would: is side right in each file?",
    ),
    (
        ShortStroke(stroke="bump", units="mm", used_mm=70.0, swept_mm=30.0),
        "The car uses 70 mm of bump, but only 30 mm of it was swept; the rest is not judged. Sweep "
        "on, if the joints allow it.",
    ),
    (
        ShortStroke(stroke="droop", units="mm", used_mm=60.0, swept_mm=-0.0),
        "The car uses 60 mm of droop, but none of it was swept; the rest is not judged. Sweep on, "
        "if the joints allow it.",
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
        NotBuilt(of="stack", sweep="Second", units="mm", typed_mm=-9.0, least_mm=0.0, most_mm=12.0),
        'The stack of "Second" is typed as -9 mm, but the case\'s hardware goes from 0 mm to '
        "12 mm: are its sign, its size and its unit right?",
    ),
    (
        NotBuilt(of="rack", sweep="Second", units="mm", typed_mm=9.0, least_mm=0.0, most_mm=4.0),
        'The rack raise of "Second" is typed as 9 mm, but the spacers of the case go from 0 mm to '
        "4 mm: are its sign, its size and its unit right?",
    ),
    (
        PoorFit(times=5.21),
        "Even with its points moved, the model misses the readings by 5.2 times their noise: "
        "something bends, binds or is not as the case says.",
    ),
    (
        Slip(sweep="Second", kind="column-turned", column="rear"),
        'As typed, "Second" does not fit the points within their accuracy; with the sign of every '
        "rear reading turned round they would: did the two grow opposite ways, or was the sign of "
        "one not written down?",
    ),
    *(
        (
            Slip(sweep="Second", kind=kind),
            f'As typed, "Second" does not fit the points within their accuracy; {would}',
        )
        for kind, would in {
            "turned": "turned round they would: is reading_grows right, and were front and rear, "
            "or plus and minus, kept apart?",
            "exchanged": "with bump and droop exchanged they would: is the sign of travel right?",
            "other-end": "with the dial at the other end they would: is dial_at right?",
            "doubled": "twice the toe would: is the gauge's length typed twice as long as it is, "
            "or one wheel's toe taken for half of both?",
            "halved": "half of the toe would: is the gauge's length typed half as long as it is, "
            "or the toe of both wheels typed as that of one?",
            "times-60": "60 times the toe would: were minutes typed as seconds, or degrees as "
            "minutes?",
            "tenfold": "ten times the toe would: is the decimal point where the gauge showed it?",
            "tenth": "a tenth of the toe would: is the decimal point where the gauge showed it?",
            "travel-doubled": "twice the travel would: was it read at the wheel, from ride height, "
            "and not at the damper or the arm?",
            "travel-halved": "half of the travel would: is it that of the wheel, counted from ride "
            "height?",
            "by-60": "a 60th of the toe would: were minutes typed as degrees?",
            "inches": "25.4 times the toe would: were inches typed where the file says mm?",
            "millimeters": "a 25.4th of the toe would: were millimeters typed where the file says "
            "inches?",
        }.items()
    ),
]
