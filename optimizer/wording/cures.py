"""Which pivot cures a height error or a length error; common practice, checked in the tests."""

from optimizer.models.suggest import HeightCure, LengthCure
from optimizer.models.vocabulary import Vocabulary

CURES: dict[HeightCure | LengthCure, str] = {
    "lower-outer": "lower the outer pivot or raise the {words.inner}",
    "raise-outer": "raise the outer pivot or lower the {words.inner}",
    "lengthen-rod": "the {words.rod} is too short: move the inner pivot {words.farther} or the "
    "outer pivot outboard",
    "shorten-rod": "the {words.rod} is too long: move the inner pivot {words.nearer} or the outer "
    "pivot inboard",
}


def cure_in_words(cure: HeightCure | LengthCure, words: Vocabulary) -> str:
    """Say which way to move which pivot."""
    return CURES[cure].format(words=words)
