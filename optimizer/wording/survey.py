"""What a survey says, in words: points, what stands apart, and what to read again."""

from optimizer.models.answer import Fact
from optimizer.models.survey import ReadingKind, Survey
from optimizer.models.surveyed import (
    BehindRear,
    ExchangedTable,
    FloorNotRead,
    LostMark,
    LostSigns,
    MoreNoise,
    StandsApart,
    StillBlank,
    SurveyAnswer,
    SwappedMarks,
    Unchecked,
    WrongHeights,
    WrongReading,
)
from optimizer.units import Units, length_text
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

NAMES: dict[ReadingKind, str] = {
    "height": "height of {0}",
    "center-line": "distance of the mark of {0} to the center line",
    "marks": "distance between the marks of {0} and {1}",
    "length": "length from {0} to {1}",
    "rise": "rise from {0} to {1}",
    "slope": "slope from {0} to {1}",
}
ROWS_OF: dict[ExchangedTable, str] = {
    "marks": "the distances of {0} and of {1} from A and B",
    "center_line": "the distances of {0} and of {1} to the center line",
    "heights": "the heights of {0} and of {1}",
    "lengths": "the lengths of {0} and of {1}",
}
BASE_MARKS = {"A": "base mark A", "B": "base mark B"}
LEAST_TOLD_MM = 0.5
# Where a tape is held whose hook is worn, and how nearly that shows; common practice, no source.
HELD_MM: dict[Units, float] = {"mm": 100.0, "in": 25.4}
HELD_WITHIN_MM = 4.0
SIZES_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
ABOUT = 0.15  # of a reading, within which it is what a slip would have made of it
MOST_NAMED = 6
TITLES = {
    "points": "Where the points are",
    "doubts": "To look at again",
    "readings": "Every reading beside all the others",
    "plan": "Floor plan",
}
FRAME = (
    "x forward from the wheel center, y left of the line under the middle of the car, z up from "
    "the floor; ± is one standard deviation."
)
EXPLAINED = (
    "* is doubted; left over: read less what the points say; checked: share of a mistake that the "
    "other readings show; w: what is left over in its own standard deviations, before any reading "
    "was weighed down; found from: the smallest mistake that shows in 80 of 100 such surveys."
)
PLAN_CAPTION = (
    "The floor from above, front up; ellipses: one standard deviation, {larger:.0f} times as large"
)
PLAN_TO_READ = "The floor from above, front up: what to read between the marks"
PLAN_ALT = "Floor plan of the marks below the joints, with what is read between them"
SHEET_STEPS = (
    "Tires at pressure, driver's weight and fuel in, wheels loaded as on the road, steering locked "
    "straight ahead. Nobody touches the car again until all is read.",
    "Snap a line along the floor under the middle of the car, halfway between the wheels. Mark A "
    "on it well ahead of the suspension and B well behind, farther off than the joints lie "
    "outboard.",
    "Lay a level on the floor, along the car and across it, and write both slopes down.",
    "Hang a plumb line from the center of each joint, let it come to rest, mark a cross on the "
    "floor below it and write the joint's name beside it. The marks stay until the case is made.",
    "Read between crosses, or between centers of joints. Hook the tape at its zero every time. "
    "What can't be reached stays blank.",
)
SHEET_AGAIN = (
    "Read all heights once, then all again the other way round the car, without looking at the "
    "first ones."
)
SHEET_FLOOR = "The floor rises ________ deg forward and ________ deg to the left."
SHEET_COLUMNS = {
    "height": "height",
    "again": "again",
    "line": "mark to line",
    "A": "mark to A",
    "B": "mark to B",
}
SHEET_TITLES = {
    "prepare": "Prepare",
    "points": "At every joint",
    "marks": "From mark to mark on the floor",
    "length": "Straight from joint to joint",
    "rise": "How much higher the second joint is",
    "slope": "Slope of a level from the first joint to the second, up positive",
}
TO_SETTLE = StandsApart | SwappedMarks | LostSigns


def sheet_of(survey: Survey) -> str:
    """Say what a list to take along is of."""
    return f"{survey.layout}, {survey.side} wheel; all lengths in {survey.units}"


def reading_name(kind: ReadingKind, names: tuple[str, ...]) -> str:
    """Name a reading as the survey lists it."""
    told = (BASE_MARKS.get(name, name) for name in names)
    if kind == "marks" and {*names} == {"A", "B"}:
        return "distance between base marks A and B"
    return NAMES[kind].format(*told)


def amount(kind: ReadingKind, value: float, reader: Reader, *, signed: bool = False) -> str:
    """Write what was read with its unit."""
    if kind == "slope":
        return f"{value:{'+' if signed else ''}.2f} deg"
    return f"{reader.length(value, signed=signed)} {reader.subject.units}"


def verdict(answer: SurveyAnswer, reader: Reader) -> list[str]:
    """Say first whether the readings agree, then how sure the points are."""
    apart = [one for one in answer.doubts if isinstance(one, TO_SETTLE | MoreNoise)]
    count, more = len(answer.readings), answer.freedom
    if more == 0:
        agree = f"{count} readings, none more than needed: they place the points and check nothing"
    elif not apart:
        agree = f"{count} readings, {more} more than needed, agree as tape and plumb line should"
    else:
        agree = f"{count} readings, {more} more than needed, don't agree: {_to_settle(len(apart))}"
    worst = max(answer.points, key=lambda point: max(point.sigma_mm))
    axis = max(range(3), key=lambda k: worst.sigma_mm[k])
    sure = (
        f"Points are known to {reader.length_with_unit(worst.sigma_mm[axis])} or better (one "
        f"standard deviation; worst is {worst.name} {'xyz'[axis]})"
    )
    held = "" if not apart else ", with what stands apart hardly counted"
    return [f"{agree}.", f"{sure}{held}."]


def _to_settle(count: int) -> str:
    things = "one thing is" if count == 1 else f"{count} things are"
    return f"{things} to be settled at the car"


def written_with(answer: SurveyAnswer) -> str:
    """Say what a case that is written holds back; empty where all agreed."""
    count = sum(isinstance(one, TO_SETTLE) for one in answer.doubts)
    return f"What doesn't agree is hardly counted in it; {_to_settle(count)}." if count else ""


@sentence.register
def _wrong(wrong: WrongReading, reader: Reader) -> str:
    name = reading_name(wrong.kind, wrong.names)
    read = amount(wrong.kind, wrong.read, reader)
    by = amount(wrong.kind, abs(wrong.by), reader)
    more = "more" if wrong.by > 0.0 else "less"
    told = f"the {name}, read as {read} ({wrong.location}), is {by} {more} than the others say"
    asked = _slip(wrong, reader)
    return f"{told} ({asked})" if asked else told


def _slip(wrong: WrongReading, reader: Reader) -> str:
    """Ask about the slip that would explain a reading, if one would.

    A lost sign, another unit, or a tape that began at the mark that spares its worn hook.
    """
    units, meant = reader.subject.units, wrong.read - wrong.by
    if abs(meant + wrong.read) < ABOUT * abs(meant):
        return "is its sign right?"
    if wrong.kind == "slope":
        return ""
    for unit, size in SIZES_MM.items():
        if unit != units and abs(wrong.read * size / SIZES_MM[units] - meant) < ABOUT * abs(meant):
            return f"was it read in {'inches' if unit == 'in' else unit}?"
    mark = HELD_MM[units]
    if wrong.kind == "rise" or abs(wrong.by - mark) > HELD_WITHIN_MM:
        return ""
    return f"was the tape held at {length_text(mark, units)}, and that not taken off?"


@sentence.register
def _lost(lost: LostMark, reader: Reader) -> str:
    ways = [(lost.forward_mm, "forward", "rearward"), (lost.left_mm, "left", "right")]
    told = [
        f"{reader.length_with_unit(abs(by))} {plus if by > 0.0 else minus}"
        for by, plus, minus in ways
        if abs(by) >= LEAST_TOLD_MM
    ]
    return (
        f"the floor mark of {lost.point} lies {' and '.join(told)} of where the joint is plumb "
        "above (a mark that was lost, kicked or made for another joint)"
    )


@sentence.register
def _heights(wrong: WrongHeights, reader: Reader) -> str:
    more = "large" if wrong.by_mm > 0.0 else "small"
    by = reader.length_with_unit(abs(wrong.by_mm))
    return f"all heights of {wrong.point} are {by} too {more}, or the floor at its mark is not flat"


@sentence.register
def _apart(apart: StandsApart, reader: Reader) -> str:
    first, *others = (sentence(one, reader) for one in apart.explanations)
    again = _again(apart.explanations[0])
    if not others:
        return f"{first[0].upper()}{first[1:]}. {again}"
    told = "; or ".join([first, *others])
    return (
        f"One of these is wrong, and the readings can't tell which: {told}. Read all of them again."
    )


def _again(explanation: Fact) -> str:
    if isinstance(explanation, LostMark):
        return "Hang the plumb line there again, mark, and read the distances of that mark again."
    if isinstance(explanation, WrongHeights):
        return "Read them again, from the mark straight up."
    return "Read it again."


@sentence.register
def _signs(lost: LostSigns, _: Reader) -> str:
    return (
        f"Everything agrees if {', '.join(lost.points)} lie beyond the center line: type their "
        "distances in center_line below 0."
    )


@sentence.register
def _swapped(swapped: SwappedMarks, _: Reader) -> str:
    if swapped.table is not None:
        rows = ROWS_OF[swapped.table].format(swapped.one, swapped.other)
        return f"Everything agrees if {rows} stand in each other's place: read both again."
    if swapped.of is not None:
        return (
            f"Everything agrees if the distances of {swapped.of} from {swapped.one} and from "
            f"{swapped.other} stand in each other's place: measure both again."
        )
    return (
        f"Everything agrees if the floor marks of {swapped.one} and {swapped.other} have each "
        "other's name: hang the plumb line from both again, and look which mark is whose."
    )


@sentence.register
def _behind(behind: BehindRear, reader: Reader) -> str:
    return (
        f"{behind.front} comes out {reader.length_with_unit(behind.by_mm)} behind {behind.rear}: "
        "does mark A lie ahead of the suspension and B behind it, and are the distances from each "
        "kept apart?"
    )


@sentence.register
def _noise(noise: MoreNoise, _: Reader) -> str:
    others, alone = ("other ", "") if noise.beside else ("", ", and no single one stands apart")
    return (
        f"The {others}readings differ {noise.times:.1f} times as much as [accuracy] says{alone}: "
        "did the car or the base line move, does the tape sag, or was the tape less exact than "
        "stated?"
    )


@sentence.register
def _floor(floor: FloorNotRead, reader: Reader) -> str:
    height, by = (reader.length_with_unit(x) for x in (floor.height_mm, floor.by_mm))
    return (
        "The floor is taken as level, for [floor] says nothing. A fall of 1 deg would move the "
        f"mark of {floor.point}, {height} up, by {by}: lay a level on the floor and state its "
        "slope."
    )


@sentence.register
def _unchecked(unchecked: Unchecked, reader: Reader) -> str:
    named = [reading_name(*row) for row in unchecked.rows]
    more = f" and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
    slip = f"{reader.in_units(unchecked.slip_mm):.2g} {reader.subject.units}"
    return (
        f"A slip of {slip} in these would not show: {', '.join(named[:MOST_NAMED])}{more}. Read "
        "them twice, or read more from the same marks."
    )


@sentence.register
def _blank(blank: StillBlank, _: Reader) -> str:
    rows = "One row is" if blank.rows == 1 else f"{blank.rows} rows are"
    return f"{rows} still blank: not read, and not missed for placing the points."
