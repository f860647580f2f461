"""Every kind of fact has its words, wherever they stand."""

import importlib
import pkgutil

import pytest

import optimizer.models
from optimizer.models.answer import Fact
from optimizer.models.subject import Subject
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import WORDS, sentence

MODELS = [
    importlib.import_module(f"optimizer.models.{found.name}")
    for found in pkgutil.iter_modules(optimizer.models.__path__)
]
KINDS = [
    kind
    for model in MODELS
    for kind in vars(model).values()
    if isinstance(kind, type) and issubclass(kind, Fact) and kind.__module__ == model.__name__
]
TOLD = [kind for kind in KINDS if not kind.__subclasses__() and kind is not Fact]


@pytest.mark.parametrize("kind", TOLD, ids=lambda kind: kind.__name__)
def test_every_kind_of_fact_has_a_sentence_of_its_own(kind):
    importlib.import_module(f"optimizer.wording.{WORDS[kind.__module__.rpartition('.')[2]]}")
    assert sentence.dispatch(kind) is not sentence.dispatch(Fact)


def test_a_fact_without_words_is_a_fault_of_the_program_s():
    class Unsaid(Fact):
        __module__ = "optimizer.models.stops"

    subject = Subject(
        name="Car", layout="strut", sides=["left"], units="mm", toe_unit="deg", toe_diameter_mm=600
    )
    with pytest.raises(NotImplementedError, match="no sentence for Unsaid"):
        sentence(Unsaid(), Reader(subject))
