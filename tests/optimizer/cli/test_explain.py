"""`explain`: words of the reports."""

import json

import pytest

from optimizer.cli.main import main
from optimizer.wording.glossary import glossary


def test_a_word_is_explained_also_by_another_name(capsys):
    for asked in (["slope"], ["Outer", "drop"], ["outer_drop"], ["stack"]):
        assert main(["explain", *asked]) == 0
    out = capsys.readouterr().out
    assert out.startswith("slope\n  Toe change per wheel travel")
    assert out.count("outer drop (also drop, stack, shim, shims, washer)") == 3
    assert main(["explain", "wanted", "band"]) == 0
    assert capsys.readouterr().out.startswith("band (also wanted band)")


def test_every_word_is_listed_and_none_has_two_meanings(capsys):
    assert main(["explain", "--json"]) == 0
    words = json.loads(capsys.readouterr().out)["words"]
    names = [name for one in words for name in (one["word"], *one["also"])]
    assert len(words) == len(glossary()) > 30
    assert len(set(names)) == len(names)
    assert all(one["says"].endswith(".") for one in words)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("slop", "did you mean slope?"),
        ("dead", "did you mean dead center"),
        ("flux capacity", "explain alone lists them"),
    ],
)
def test_a_word_that_is_none_is_met_with_the_nearest(capsys, asked, said):
    assert main(["explain", asked]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    "word",
    [
        *("number 1", "possible cars", "near the best", "limits", "range", "step", "curve"),
        *("linkage", "thread", "stud", "single shear", "taper", "spare tilt", "static toe"),
        *("custom pivot", "pivot made to measure", "steering arms", "drag link", "pitman ball"),
        *("drop pitman arm", "cross rod", "center link", "ride steer gradient", "scatter"),
        *("roll steer gradient", "corrected case", "base mark", "center line", "expected", "worst"),
    ],
)
def test_words_that_reports_use_are_explained(capsys, word):
    assert main(["explain", word]) == 0
    assert capsys.readouterr().out
