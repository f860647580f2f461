"""`pivotwright new LAYOUT`: a commented starter case."""

import argparse
import json
import sys

from optimizer.cli.options import add_json

SUMMARY = "print a commented starter case to fill in"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `new`."""
    parser.add_argument("layout", metavar="LAYOUT", help="strut or double-wishbone")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the starter case."""
    from optimizer.starters import starter_case

    text = starter_case(options.layout)
    if options.json:
        text = json.dumps({"format": 1, "layout": options.layout, "case": text}, indent=2) + "\n"
    sys.stdout.write(text)
    return 0
