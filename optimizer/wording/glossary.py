"""Words of the reports, explained: one file holds them for the terminal and for the guide."""

import tomllib
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from optimizer.errors import PivotwrightError
from optimizer.models.answer import Answer


class Explained(Answer):
    """A word, what it means, and other words for the same."""

    word: str
    says: str
    also: list[str]


@cache
def glossary() -> dict[str, Explained]:
    """Every word by itself, in the order of the alphabet."""
    text = (files("optimizer.wording") / "glossary.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    return {
        word: Explained(word=word, says=of["says"], also=of.get("also", []))
        for word, of in sorted(table.items())
    }


def explained(word: str) -> Explained:
    """What a word of the reports means.

    Raises
    ------
    PivotwrightError
        There is no such word; near ones are named.
    """
    known = {one: found for found in glossary().values() for one in (found.word, *found.also)}
    asked = " ".join(word.lower().replace("_", " ").split())
    if asked in known:
        return known[asked]
    within = [one for one in known if asked and asked in one]
    near = list(dict.fromkeys([*within, *get_close_matches(asked, known, n=3)]))[:3]
    meant = f"; did you mean {' or '.join(near)}?" if near else ""
    raise PivotwrightError(
        f"explain: there is no word {word!r}{meant or ', explain alone lists them'}"
    )
