"""Which pivot cures a height error or a length error; common practice, checked in the tests."""

from optimizer.models.diagnosis import HeightCure, LengthCure
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import short_length
from optimizer.wording.reader import Reader

CURES: dict[HeightCure | LengthCure, str] = {
    "lower-outer": "lower the outer pivot or raise the {words.inner}",
    "raise-outer": "raise the outer pivot or lower the {words.inner}",
    "lengthen-rod": "the {words.rod} is too short: move the inner pivot {words.farther} or the "
    "outer pivot outboard",
    "shorten-rod": "the {words.rod} is too long: move the inner pivot {words.nearer} or the outer "
    "pivot inboard",
}


# Of a link along the car, whose length changes with fore and aft places.
ALONG: dict[HeightCure | LengthCure, str] = {
    "lengthen-rod": "the {words.rod} is too short: move the inner or the outer pivot away from the "
    "other, along the {words.rod}",
    "shorten-rod": "the {words.rod} is too long: move the inner or the outer pivot toward the "
    "other, along the {words.rod}",
}

CUSTOM = "a pivot made to measure (`suggest --custom`) may do better"


def inner_moved(longer_mm: float, reader: Reader) -> str:
    """Say which way the inner pivot goes for a rod that is so much longer, and how far."""
    way = reader.words.farther if longer_mm > 0.0 else reader.words.nearer
    if reader.subject.moves_along:
        way = "away from the outer one" if longer_mm > 0.0 else "toward the outer one"
    return f"the inner pivot {short_length(abs(longer_mm), reader.subject.units)} {way}"


def cure_in_words(cure: HeightCure | LengthCure, words: Vocabulary, *, along: bool = False) -> str:
    """Say which way to move which pivot; of a link `along` the car, along that."""
    return (ALONG if along and cure in ALONG else CURES)[cure].format(words=words)
