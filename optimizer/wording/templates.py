"""Sentences as templates, filled in with the numbers of a fact."""

from msgspec import Struct

from optimizer.models.answer import Fact
from optimizer.units import Units, length_text, short_length
from optimizer.wording.reader import Reader


class Length(Struct, frozen=True):
    """A length to be written with its unit: to six digits, or `:short`, as finely as shims come.

    >>> f"{Length(6.35, 'in'):short} of {Length(10.0, 'mm')}"
    '0.250 in of 10 mm'
    """

    mm: float
    units: Units

    def __format__(self, form: str) -> str:
        return (short_length if form == "short" else length_text)(self.mm, self.units)


def filled(template: str, fact: Fact, reader: Reader, **more: object) -> str:
    """Fill in a template with a fact's fields, lengths by their names in mm, and with `more`.

    Lengths are written in the fact's own `units`, where it has any; `words` are the car's.
    """
    units: Units = getattr(fact, "units", reader.subject.units)
    fields = {
        name: Length(value, units) if name.endswith("_mm") and isinstance(value, float) else value
        for name, value in fact
    }
    return template.format(**{**fields, "words": reader.words, **more})
