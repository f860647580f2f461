"""The sentence of a fact: each family of facts registers how its own are put into words.

The words of a family are read when one of its facts is first told: an answer holds facts of few.
"""

from functools import singledispatch
from importlib import import_module

from optimizer.models.answer import Fact
from optimizer.wording.reader import Reader

# Families by the module of `optimizer.models` that holds them.
WORDS = {
    "alignment": "alignment",
    "cautions": "cautions",
    "check": "doubts",
    "comparison": "comparison",
    "curve": "curves",
    "custom_pivot": "custom",
    "gauge": "gauge_swept",
    "lengths": "worth",
    "questions": "gauge_questions",
    "reach": "reach",
    "read_beside": "gauge_beside",
    "remedies": "gauge_remedies",
    "setting": "bands",
    "settling": "settling",
    "sheet": "sheets",
    "side_effects": "side_effects",
    "stops": "stops",
    "surveyed": "survey",
    "sweeps": "gauge_sweeps",
    "verdict": "verdict",
}


@singledispatch
def sentence(fact: Fact, reader: Reader) -> str:
    """Put a fact into words, in the units and the words of the car that it is about."""
    kind = type(fact)
    family = kind.__module__.rpartition(".")[2]
    import_module(f"optimizer.wording.{WORDS[family]}")
    if sentence.dispatch(kind) is sentence.dispatch(Fact):
        raise NotImplementedError(f"no sentence for {kind.__name__}")
    return sentence(fact, reader)
