"""`pivotwright sheet CASE`: a page to print and fill in at the car."""

import argparse
import sys

from optimizer.cli.options import add_case, add_json, millimeters

SUMMARY = "print a measuring sheet: what to prepare, which heights to read, what to expect"
KINDS = ("two-dial", "dial-and-roller", "laser", "mirror", "string", "toe-plates", "angle")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `sheet`."""
    add_case(parser)
    add_json(parser)
    parser.add_argument("--kind", choices=KINDS, default=KINDS[0], help="gauge (two-dial)")
    parser.add_argument("--text", action="store_true", help="plain text instead of HTML")
    for name, text in (
        ("--outer-drop", "sheet for this stack, in mm; number 1 of `suggest` if left out"),
        ("--rack-raise", "sheet for this raise of the inner pivot, in mm"),
    ):
        parser.add_argument(name, type=millimeters, metavar="MM", help=text)


def run(options: argparse.Namespace) -> int:
    """Print the sheet."""
    from optimizer.adjust import Settings, linkage_choice
    from optimizer.case_file import read_case
    from optimizer.plausibility import refuse_impossible
    from optimizer.reports.numbers import Reader
    from optimizer.reports.sheet import sheet_html, sheet_text
    from optimizer.reports.words import what_to_fit
    from optimizer.sheet import sheet
    from optimizer.suggest import suggest
    from optimizer.units import length_text

    case = read_case(options.case)
    refuse_impossible(case, options.case)
    drop, rack_raise = options.outer_drop, options.rack_raise
    ball_joint = case.linkage_choices[0]
    if drop is None and rack_raise is None:
        result = suggest(case)
        winner = next((row for row in result.ranked if row.fits), result.ranked[0])
        drop, rack_raise = winner.outer_drop_mm, winner.rack_raise_mm
        ball_joint = linkage_choice(case, winner.model_dump())
        fit = what_to_fit(winner, Reader(result.subject), as_is=winner.is_as_is)
    else:
        drop, rack_raise = drop or 0.0, rack_raise or 0.0
        down, up = (length_text(x, case.units) for x in (drop, rack_raise))
        fit = f"outer drop {down}, {case.words.inner} raise {up}"
    made = sheet(case, Settings.single(drop, rack_raise, ball_joint), fit, options.kind)
    if options.json:
        sys.stdout.write(made.model_dump_json(indent=2) + "\n")
    else:
        sys.stdout.write(sheet_text(made) if options.text else sheet_html(made))
    return 0
