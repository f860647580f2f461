"""What `check` says of a case: figures by name, and doubts with their keys."""

from collections.abc import Iterator

from optimizer.models.check import Arms, CheckResult, Doubted, WheelFigures
from optimizer.units import short_length
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

ARMS: dict[Arms, str] = {"ahead": "ahead of the axle", "behind": "behind the axle"}
DOUBTED = (
    "Worth a second look: `pivotwright check {case}` has at least {count} about this case{quoted}"
)


def figures_in_words(figures: WheelFigures, reader: Reader) -> dict[str, str]:
    """Figures of one wheel by what they are called."""
    return dict(_figures(figures, reader))


def _figures(figures: WheelFigures, reader: Reader) -> Iterator[tuple[str, str]]:
    words, units = reader.words, reader.subject.units
    yield "ride height", _ride_height(figures, reader)
    yield f"{words.arm}s", ARMS[figures.arms]
    yield words.arm, f"{short_length(figures.arm_mm, units)} from the {words.axis}"
    yield words.rod, short_length(figures.rod_mm, units)
    for name, angle in (
        ("caster", figures.caster_deg),
        ("kingpin inclination", figures.kingpin_inclination_deg),
    ):
        if angle is not None:
            yield name, f"{angle:.2f} deg as measured"
    peak = reader.toe(figures.peak_toe_change_deg, signed=False)
    yield "toe change now", f"{peak} {reader.toe_unit} peak over the used travel"
    if figures.band is not None:
        yield "wanted band", f"now {sentence(figures.band, reader)}"
    yield "stacks that can be built", f"{figures.stacks}"
    places = "heights" if reader.subject.on_beam else "spacers"
    yield f"{words.inner} {places}", f"{figures.spacers}"


def _ride_height(figures: WheelFigures, reader: Reader) -> str:
    than = " than measured" if figures.lowered_by_mm else ""
    return f"{reader.stands(figures.lowered_by_mm)}{than}"


def doubts_in_words(result: CheckResult, reader: Reader) -> list[str]:
    """Every doubt once; one about a key that two wheels share names the wheel if it is alone."""
    told: dict[str, None] = {}
    for wheel in result.wheels:
        for doubt in wheel.doubts:
            alone = doubt.side is None and not all(doubt in one.doubts for one in result.wheels)
            of = f" ({wheel.side} wheel)" if alone else ""
            told[f"{doubt.location}: {sentence(doubt.message, reader)}{of}"] = None
    return list(told)


def doubted_in_words(doubted: Doubted | None, case_path: str, reader: Reader) -> Iterator[str]:
    """Say how many doubts `check` has at least, and quote those that no cure is right with."""
    if doubted is not None and doubted.at_least:
        quoted = [f"{one.location}: {sentence(one.message, reader)}" for one in doubted.turning]
        count = "1 doubt" if doubted.at_least == 1 else f"{doubted.at_least} doubts"
        told = f": {'; '.join(quoted)}" if quoted else "."
        yield DOUBTED.format(case=case_path, count=count, quoted=told)


def no_doubt(reader: Reader) -> str:
    """Say that nothing looks wrong."""
    by_itself = " with either wheel by itself" if reader.subject.both_wheels else ""
    return f"Nothing looks wrong{by_itself}."
