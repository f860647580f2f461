"""Reports in the words that are used in the UK."""

import io
import json
import re
import sys

import pytest

from optimizer.cli.main import main
from optimizer.models.dialect import UK, spelled
from tests.optimizer.command_line import CASES

AMERICAN = re.compile(rf"\b({'|'.join(UK)})s?\b", re.IGNORECASE)
CARS = ("track-wishbone", "lowered-strut", "lifted-beam-axle", "five-link-rear")
COMMANDS = (
    ["suggest", "-", "--verbose"],
    ["check", "-"],
    ["curve", "-", "--rack-raise", "3"],
    ["sheet", "-", "--text"],
    ["reach", "-", "--heights", "0:20:20"],
)


def piped(monkeypatch, car):
    text = (CASES / f"{car}.toml").read_text(encoding="utf-8")
    table = '[display]\nwords = "uk"\n'
    if "[display]" in text:
        text = text.replace("[display]\n", table)
    else:
        text = text.replace("[aim]", f"{table}\n[aim]")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))


@pytest.mark.parametrize("car", CARS)
@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_no_american_word_is_left(monkeypatch, capsys, car, command):
    piped(monkeypatch, car)
    main(command)
    out = capsys.readouterr().out
    assert out
    assert AMERICAN.findall(out) == []


def test_sentences_in_json_are_in_the_same_words_and_keys_stay(monkeypatch, capsys):
    piped(monkeypatch, "track-wishbone")
    main(["sheet", "-", "--json"])
    document = json.loads(capsys.readouterr().out)
    assert document["subject"]["dialect"] == "uk"
    (wheel,) = document["wheels"]
    assert "tyre" in " ".join(document["prepare"]).lower()
    assert "tyre_radius" not in str(wheel)


def test_keys_and_capitals_are_kept():
    text = "Tie rods, tires and bushings; points.tie_rod_outer, wheel.tire_radius, wheel_center"
    assert spelled(text, "uk") == (
        "Track rods, tyres and bushes; points.tie_rod_outer, wheel.tire_radius, wheel_center"
    )
    assert spelled(text, "us") == text
