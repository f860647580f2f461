"""What to read next, in words: what it takes, and in how many cars that would be enough."""

from optimizer.models.next_reading import NextReading, NextReadings, ReadingKind
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.templates import filled

WHAT: dict[ReadingKind, str] = {
    "sweep": "the same sweep once more",
    "rod_turned": "turn the {words.rod} by two turns of 1.5 mm and read again",
    "camber": "camber at the heights of the sweep",
    "steered": "angles on turn plates at four rack travels",
    "caster_sweep": "camber with the wheel steered 20 deg out and in",
    "three_with_stack": "fit that stack and read three heights, both ends of the travel and ride "
    "height",
}
READING = "{what} ({minutes:g} min): then enough in {of_100} of 100, {loss_deg:.4f} deg lost"
NOW = (
    "Of 100 cars that tape and readings still allow, what has been read is enough in {of_100}: no "
    "other setting is better by more than {resolution} there. On average {loss} is lost."
)
WORTH = "Worth reading next: {what}."
NOTHING = "Nothing more is worth reading for this decision."


def of_100(share: float) -> str:
    """Whole cars of a hundred; never all of them, nor none."""
    return f"{min(max(share, 1.0), 99.0):.0f}"


@sentence.register
def _reading(one: NextReading, reader: Reader) -> str:
    what = WHAT[one.kind].format(words=reader.words)
    return filled(READING, one, reader, what=what, of_100=of_100(one.enough_of_100))


def next_readings(readings: NextReadings, reader: Reader, *, all_of_them: bool) -> list[str]:
    """Say whether what has been read is enough, and what is worth reading next."""
    now = NOW.format(
        of_100=of_100(readings.enough_of_100),
        resolution=reader.resolution,
        loss=reader.toe_with_unit(readings.loss_deg),
    )
    worth = [WORTH.format(what=sentence(x, reader)) for x in readings.ranked if x.worth_it]
    listed = [f"- {sentence(x, reader)}" for x in readings.ranked if all_of_them]
    return [now, *listed, *(worth or [NOTHING])]
