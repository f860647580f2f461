"""How the program behaves as a program: help, version, guesses, pipes, colors, schemas."""

import io
import json
import subprocess
import sys
import tomllib

import jsonschema
import pytest

from optimizer.cli.completion import SHELLS
from optimizer.cli.schema import ANSWERS
from tests.optimizer.command_line import CASES, ROOT, STRUT, run, strictly_json

READINGS = [
    path
    for path in sorted((CASES / "readings").glob("*.toml"))
    if "kind" in tomllib.loads(path.read_text("utf-8"))
]


def test_without_a_command_there_is_help(capsys):
    assert run() == 0
    out, err = capsys.readouterr()
    assert "Exit codes" in out
    assert err == ""


SPOKEN = [
    ["suggest", STRUT],
    ["suggest", STRUT, "--verbose"],
    ["curve", STRUT],
    ["reach", STRUT, "--heights", "0:10:10"],
    ["check", STRUT],
    ["gauge", STRUT, CASES / "readings/lowered-strut.toml", "--verbose"],
    ["survey", CASES / "surveys/inch-coupe.toml"],
    ["sheet", STRUT, "--text"],
    ["explain", "slope"],
]


@pytest.mark.parametrize("arguments", SPOKEN, ids=lambda some: some[0])
def test_no_command_prints_an_empty_line_first(capsys, arguments):
    run(*arguments)
    first, *_ = capsys.readouterr().out.splitlines()
    assert first.strip()


def test_the_version_is_that_of_the_package(capsys):
    version = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    assert run("--version") == 0
    assert capsys.readouterr().out == f"pivotwright {version}\n"


@pytest.mark.parametrize(("typed", "meant"), [("sugest", "suggest"), ("guage", "gauge")])
def test_a_slip_in_a_command_is_answered_with_what_was_meant(capsys, typed, meant):
    assert run(typed, STRUT) == 2
    assert f"there is no command {typed}; did you mean {meant}?" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("dial", "did you mean two-dial or dial-and-roller?"),
        ("lazer", "did you mean laser?"),
        ("plumb", "there are two-dial, dial-and-roller, laser, wall,"),
    ],
)
def test_a_slip_in_a_choice_is_answered_with_what_was_meant(capsys, typed, told):
    assert run("sheet", STRUT, "--kind", typed) == 2
    assert f"argument --kind: there is no {typed}; {told}" in capsys.readouterr().err


def test_a_case_may_come_through_a_pipe(capsys, monkeypatch):
    text = STRUT.read_bytes()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text)))
    assert run("curve", "-", "--json") == 0
    piped = capsys.readouterr().out
    assert run("curve", STRUT, "--json") == 0
    assert capsys.readouterr().out == piped


def test_a_fault_in_a_pipe_is_located_there(capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"format = 2")))
    assert run("check", "-") == 2
    assert capsys.readouterr().err.startswith("pivotwright: error: standard input has")


def test_color_comes_and_goes_as_asked(capsys, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    reports = {}
    for when in ("auto", "always", "never"):
        assert run("check", STRUT, "--color", when) == 0
        reports[when] = capsys.readouterr().out
    assert "\x1b[" in reports["always"]
    assert reports["auto"] == reports["never"]
    assert "\x1b[" not in reports["never"]


def test_no_color_counts_only_with_something_in_it(capsys, monkeypatch):
    monkeypatch.setenv("FORCE_COLOR", "1")
    for value, colored in (("", True), ("1", False)):
        monkeypatch.setenv("NO_COLOR", value)
        assert run("check", STRUT) == 0
        assert ("\x1b[" in capsys.readouterr().out) == colored


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_gets_what_it_needs_to_complete(capsys, shell):
    assert run("completion", shell) == 0
    assert "pivotwright" in capsys.readouterr().out


def test_bash_completes_commands_and_options():
    script = (
        f'eval "$({sys.executable} -m optimizer.cli completion bash)"; '
        "COMP_LINE='pivotwright sug' COMP_POINT=15 COMP_TYPE=9 _ARGCOMPLETE=1 "
        f"_ARGCOMPLETE_SHELL=bash IFS=$'\\013' {sys.executable} -m optimizer.cli 8>&1 9>/dev/null"
    )
    ended = subprocess.run(
        ["bash", "-c", script], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert "suggest" in ended.stdout


def schema_of(capsys, *arguments):
    assert run("schema", *arguments) == 0
    return strictly_json(capsys.readouterr().out)


def valid(schema, path):
    table = tomllib.loads(path.read_text("utf-8"))
    return jsonschema.Draft202012Validator(schema).is_valid(table)


def test_every_case_is_of_the_schema_for_cases(capsys, any_demo_car):
    assert valid(schema_of(capsys, "case"), any_demo_car)


def test_kits_and_readings_are_of_their_schemas(capsys):
    assert valid(schema_of(capsys, "kits"), CASES / "kits.toml")
    schema = schema_of(capsys, "readings")
    assert READINGS
    assert all(valid(schema, path) for path in READINGS)


def test_a_schema_finds_a_slip(capsys):
    schema = schema_of(capsys, "case")
    table = tomllib.loads(STRUT.read_text("utf-8"))
    assert jsonschema.Draft202012Validator(schema).is_valid(table)
    for key, value in (("unit", "mm"), ("layout", "macpherson"), ("ride", {"bump": "lots"})):
        assert not jsonschema.Draft202012Validator(schema).is_valid(table | {key: value})


@pytest.mark.parametrize("command", ANSWERS)
def test_an_answer_s_schema_is_one(capsys, command):
    jsonschema.Draft202012Validator.check_schema(schema_of(capsys, "answer", "--of", command))


def test_an_option_s_fault_is_json_too_where_json_is_asked_for(capsys):
    assert run("curve", STRUT, "--bump", "lots", "--json") == 2
    (fault,) = strictly_json(capsys.readouterr().out)["faults"]
    assert "--bump" in fault["message"]


def test_faults_keep_their_place_in_json(capsys, tmp_path):
    path = tmp_path / "coupe.toml"
    path.write_text(STRUT.read_text("utf-8").replace("bump ", "bumb "), encoding="utf-8")
    assert run("check", path, "--json") == 2
    told = json.loads(capsys.readouterr().out)
    assert told["format"] == 2
    assert "ride.bumb" in [one["location"] for one in told["faults"]]
