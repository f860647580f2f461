"""Words as they are used in the UK, where those of this program are American."""

import re
from typing import Literal

Dialect = Literal["us", "uk"]
UK = {
    "tie rod": "track rod",
    "tie-rod": "track-rod",
    "tire": "tyre",
    "center": "centre",
    "bushings": "bushes",
    "bushing": "bush",
    "curb": "kerb",
}
# Keys of files are joined by underscores, which are letters here, so they stay as they are.
WORD = re.compile(rf"\b({'|'.join(UK)})(s?)\b", re.IGNORECASE)


def spelled(text: str, dialect: Dialect) -> str:
    """Put a text into the words of a dialect, capitals kept."""
    return text if dialect == "us" else WORD.sub(_there, text)


def _there(found: re.Match[str]) -> str:
    word = UK[found[1].lower()] + found[2]
    return word[0].upper() + word[1:] if found[1][0].isupper() else word
