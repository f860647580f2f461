"""`pivotwright explain WORD`: what a word of the reports means."""

import argparse
import sys

from optimizer.cli.options import add_json, print_json

SUMMARY = "say what a word of the reports means; without one, list them"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `explain`."""
    parser.add_argument("word", metavar="WORD", nargs="*", help="slope, curvature, tilt, …")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print what it means."""
    from optimizer.reports.terminal_explained import explained_report
    from optimizer.wording.glossary import explained, glossary

    found = [explained(" ".join(options.word))] if options.word else list(glossary().values())
    if options.json:
        print_json({"format": 2, "words": [one.model_dump() for one in found]})
    else:
        sys.stdout.write(explained_report(found))
    return 0
