"""`pivotwright new WHAT`: a commented starter file, or a case made from a table of points."""

import argparse
import sys
from pathlib import Path

from optimizer.cli.options import add_json, print_json

SUMMARY = "print a commented starter file to fill in, or make a case from a table of points"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `new`."""
    parser.add_argument(
        "what",
        metavar="WHAT",
        help="a case: strut, double-wishbone, twin-link-strut, five-link, beam-axle or leaf-axle; "
        "or readings, kits, or survey",
    )
    parser.add_argument(
        "kind",
        metavar="KIND",
        nargs="?",
        help="the gauge, after readings: two-dial, dial-and-roller, single-dial, laser, wall, "
        "mirror, string, toe-plates or angle; the layout, after survey",
    )
    add_json(parser)
    parser.add_argument(
        "--points", type=Path, metavar="FILE", help="CSV with rows of name, x, y, z"
    )
    parser.add_argument(
        "--axes",
        metavar="X,Y,Z",
        help="where the table's axes point (forward,left,up); or rearward, right, down",
    )
    parser.add_argument(
        "--points-unit", choices=("mm", "cm", "m", "in", "ft"), help="of the table (as --units)"
    )
    parser.add_argument(
        "--units", choices=("mm", "in"), default="mm", help="of every length in the file (mm)"
    )


def run(options: argparse.Namespace) -> int:
    """Print the file."""
    from optimizer.errors import PivotwrightError
    from optimizer.files.in_inches import in_inches
    from optimizer.files.starters import KITS, READINGS, SURVEY, starter

    is_case = options.what not in (READINGS, KITS, SURVEY)
    if not is_case and options.points is not None:
        raise PivotwrightError("--points: a table of points makes a case; name its layout")
    if options.points is None:
        for option, given in (("--axes", options.axes), ("--points-unit", options.points_unit)):
            if given is not None:
                raise PivotwrightError(f"{option}: is of a table of points; say --points FILE too")
        text = starter(options.what, options.kind)
        text = in_inches(text) if options.units == "in" else text
    else:
        from optimizer.files.point_table import case_from_table

        text = case_from_table(
            options.points,
            options.what,
            options.axes,
            options.points_unit or options.units,
            options.units,
        )
        sys.stderr.write(
            f"The points are those of {options.points}; the rest of the case is still the invented "
            "car's: overwrite it.\n"
        )
    if options.json:
        named = {"layout": options.what, "case": text} if is_case else {options.what: text}
        print_json({"format": 1, **named})
    else:
        sys.stdout.write(text)
    return 0
