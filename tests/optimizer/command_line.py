"""Running the program in a test, and reading what it printed."""

import json
import re
import subprocess
import sys
from pathlib import Path

import jsonschema

from optimizer.cli.main import main
from optimizer.models.answer import Answer
from optimizer.models.check import CheckResult
from optimizer.models.curve import CurveResult
from optimizer.models.suggest import SuggestResult
from optimizer.reports.as_json import json_schema, json_text

ROOT = Path(__file__).parents[2]
CASES = ROOT / "cases"
STRUT = CASES / "lowered-strut.toml"
WISHBONE = CASES / "track-wishbone.toml"
RESULTS = {"suggest": SuggestResult, "curve": CurveResult, "check": CheckResult}
LENGTH_ATOL_MM = 1e-9
CURVE_LISTS = [
    "travel_mm",
    "toe_deg",
    "camber_deg",
    "caster_deg",
    "kingpin_inclination_deg",
    "half_track_change_mm",
    "outer_tilt_deg",
    "inner_tilt_deg",
]


def run(*arguments: object) -> int:
    """Exit code of the program, also where the options themselves are wrong."""
    try:
        return main([str(argument) for argument in arguments])
    except SystemExit as end:
        return int(end.code)


def outcome(capsys, *arguments: object) -> tuple[int, str, str]:
    """Exit code, and what was written to stdout and stderr."""
    return run(*arguments), *capsys.readouterr()


def printed(capsys, *arguments: object) -> str:
    """What a command that answers prints, without line ends."""
    code, out, _ = outcome(capsys, *arguments)
    assert code in (0, 1)
    return " ".join(out.split())


def suggested(capsys, path: object, *options: object) -> SuggestResult:
    """The answer of `suggest`, read from its JSON."""
    _, out, _ = outcome(capsys, "suggest", path, *options, "--json")
    return answer_of(SuggestResult, out)


def process(*arguments: object, **options: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "optimizer.cli", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False, **options)


def strictly_json(text: str) -> dict[str, object]:
    """One JSON document and nothing else, without NaN and infinity, which JSON does not have."""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    document = json.loads(text, parse_constant=refuse)
    assert text == text.strip() + "\n"
    return document


def document_of(result: type[Answer], text: str) -> dict[str, object]:
    """One JSON document that is of the schema of an answer."""
    document = strictly_json(text)
    jsonschema.Draft202012Validator(json_schema(result)).validate(document)
    return document


def answer_of(result: type[Answer], text: str) -> Answer:
    """The answer that a document was written from, its facts in the place of their sentences."""
    answer = result.model_validate(_with_facts(document_of(result, text)))
    assert json_text(answer, answer.subject) == text
    return answer


def _with_facts(told: object) -> object:
    if isinstance(told, list):
        return [_with_facts(item) for item in told]
    if not isinstance(told, dict):
        return told
    whole = {key: _with_facts(value) for key, value in told.items() if key != "facts"}
    return whole | told.get("facts", {})


def everything_in(folder: Path) -> dict[str, bytes | None]:
    """Every file and folder, and what the files hold."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


# --- broken cases


def changed(car: Path, pattern: str, replacement: str) -> str:
    """Text of a case with one thing said otherwise."""
    text, times = re.subn(pattern, replacement, car.read_text(encoding="utf-8"), flags=re.M)
    assert times == 1
    return text
