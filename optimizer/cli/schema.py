"""`pivotwright schema KIND`: what an editor needs to check files, or a program to read answers."""

import argparse
from typing import TYPE_CHECKING, Any

from optimizer.cli.options import print_json

if TYPE_CHECKING:
    from optimizer.files.schemas import FileKind

SUMMARY = "print the JSON schema of a kind of file, for editors, or of an answer"
FILES: dict[str, "FileKind"] = {
    "case": "case",
    "kits": "kits",
    "readings": "readings",
    "survey": "survey",
}
ANSWERS = ("suggest", "curve", "reach", "gauge", "sheet", "survey", "check")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `schema`."""
    parser.add_argument(
        "kind",
        metavar="KIND",
        choices=(*FILES, "answer"),
        help="case, kits, readings, survey or answer",
    )
    parser.add_argument(
        "--of", choices=ANSWERS, default="suggest", help="command that an answer is of (suggest)"
    )


def run(options: argparse.Namespace) -> int:
    """Print the schema."""
    print_json(_schema(options.kind, options.of))
    return 0


def _schema(kind: str, command: str) -> dict[str, Any]:
    if kind == "answer":
        from optimizer.reports.as_json import json_schema

        return json_schema(_answer(command))
    from optimizer.files.schemas import file_schema

    return file_schema(FILES[kind])


def _answer(command: str) -> Any:
    from optimizer.models.check import CheckResult
    from optimizer.models.curve import CurveResult
    from optimizer.models.gauge import GaugeResult
    from optimizer.models.reach import ReachResult
    from optimizer.models.sheet import Sheet
    from optimizer.models.suggest import SuggestResult
    from optimizer.models.surveyed import SurveyAnswer

    results = (
        SuggestResult,
        CurveResult,
        ReachResult,
        GaugeResult,
        Sheet,
        SurveyAnswer,
        CheckResult,
    )
    return dict(zip(ANSWERS, results, strict=True))[command]
