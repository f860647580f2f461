"""The sentence of a fact: each family of facts registers how its own are put into words."""

from functools import singledispatch

from optimizer.models.answer import Fact
from optimizer.wording.reader import Reader


@singledispatch
def sentence(fact: Fact, reader: Reader) -> str:
    """Put a fact into words, in the units and the words of the car that it is about."""
    raise NotImplementedError(f"no sentence for {type(fact).__name__}")
