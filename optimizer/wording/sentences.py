"""The sentence of a fact: each family of facts registers how its own are put into words.

The words of a family are read when one of its facts is first told: an answer holds facts of few.
"""

from collections.abc import Callable
from functools import singledispatch
from importlib import import_module
from typing import TypeVar

from optimizer.models.answer import Fact
from optimizer.wording.reader import Reader

Wording = TypeVar("Wording", bound=Callable[..., str])
# Families by the module of `optimizer.models` that holds them.
WORDS = {
    "alignment": "alignment",
    "cautions": "cautions",
    "check": "doubts",
    "comparison": "comparison",
    "curve": "curves",
    "custom_pivot": "custom",
    "diagnosis": "curves",
    "gauge": "gauge_swept",
    "lengths": "gauge_remedies",
    "next_reading": "next_readings",
    "questions": "gauge_questions",
    "reach": "reach",
    "read_beside": "gauge_beside",
    "remedies": "gauge_remedies",
    "setting": "curves",
    "sheet": "sheets",
    "side_effects": "side_effects",
    "stops": "stops",
    "surveyed": "survey",
    "sweeps": "gauge_sweeps",
    "verdict": "verdict",
}


@singledispatch
def _worded(fact: Fact, reader: Reader) -> str:
    kind = type(fact)
    family = kind.__module__.rpartition(".")[2]
    import_module(f"optimizer.wording.{WORDS[family]}")
    if _worded.dispatch(kind) is _worded.dispatch(Fact):
        raise NotImplementedError(f"no sentence for {kind.__name__}")
    return _worded(fact, reader)


class _Sentence:
    """Sentences by the kind of their fact; each kind registers its own."""

    def __call__(self, fact: Fact, reader: Reader) -> str:
        """Put a fact into words, in the units and the words of the car that it is about."""
        return reader.spelled(_worded(fact, reader))

    @staticmethod
    def register(worded: Wording) -> Wording:
        """Take the words of the kind of fact that a function's first argument names."""
        _worded.register(worded)
        return worded

    @staticmethod
    def register_kind(kind: type[Fact], worded: Callable[..., str]) -> None:
        """Take the words of a kind of fact."""
        _worded.register(kind)(worded)

    @staticmethod
    def dispatch(kind: type[Fact]) -> Callable[..., str]:
        """The words of a kind of fact; those of `Fact` itself where it has none."""
        return _worded.dispatch(kind)


sentence = _Sentence()
