"""`pivotwright new LAYOUT`: a commented starter case, or one made from a table of points."""

import argparse
import json
import sys
from pathlib import Path

from optimizer.cli.options import add_json

SUMMARY = "print a commented starter case to fill in, or make one from a table of points"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `new`."""
    parser.add_argument("layout", metavar="LAYOUT", help="strut or double-wishbone")
    add_json(parser)
    parser.add_argument(
        "--points", type=Path, metavar="FILE", help="CSV with rows of name, x, y, z"
    )
    parser.add_argument(
        "--axes",
        default="forward,left,up",
        metavar="X,Y,Z",
        help="where the table's axes point (forward,left,up); or rearward, right, down",
    )
    parser.add_argument(
        "--points-unit", choices=("mm", "cm", "m", "in", "ft"), default="mm", help="of the table"
    )


def run(options: argparse.Namespace) -> int:
    """Print the case."""
    from optimizer.starters import starter_case

    if options.points is None:
        text = starter_case(options.layout)
    else:
        from optimizer.point_table import axes_of, case_from_table

        text = case_from_table(
            options.points,
            options.layout,
            axes_of(options.axes),
            options.points_unit,
        )
    if options.json:
        text = json.dumps({"format": 1, "layout": options.layout, "case": text}, indent=2) + "\n"
    sys.stdout.write(text)
    return 0
