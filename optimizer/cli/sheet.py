"""`pivotwright sheet CASE`: a page to print and fill in at the car."""

import argparse
import sys
from typing import TYPE_CHECKING

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.lengths import FORMS, add_lengths, in_millimeters, length
from optimizer.cli.options import (
    add_case,
    add_json,
    add_right_stack,
    refuse_right_stack,
)

if TYPE_CHECKING:
    from optimizer.models.setting import Fitted
    from optimizer.models.sheet import FitKind
    from optimizer.models.vehicle import Vehicle

SUMMARY = "print a measuring sheet: what to prepare, which heights to read, what to expect"
NOTHING_FITS = (
    "Nothing that can be built keeps every limit; this sheet is for the car as it is. "
    "`suggest` names the reasons."
)
KINDS = ("two-dial", "dial-and-roller", "laser", "wall", "mirror", "string", "toe-plates", "angle")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `sheet`."""
    add_case(parser)
    add_json(parser)
    add_files_out(parser, ("page",))
    parser.add_argument("--kind", choices=KINDS, default=KINDS[0], help="gauge (two-dial)")
    parser.add_argument("--text", action="store_true", help="plain text instead of HTML")
    add_lengths(
        parser,
        (
            ("--outer-drop", length, f"sheet for this stack, {FORMS}; number 1 if left out"),
            ("--rack-raise", length, "sheet for this raise of the inner pivot"),
        ),
    )
    add_right_stack(parser)


def run(options: argparse.Namespace) -> int:
    """Print the sheet; 1 if nothing fits."""
    from optimizer.answers.plausibility import refuse_impossible
    from optimizer.answers.sheet import sheet
    from optimizer.files.case_file import read_car
    from optimizer.reports.as_json import json_text
    from optimizer.reports.sheet import sheet_html, sheet_text

    refuse_files_out(options, [options.case])
    vehicle = read_car(options.case)
    refuse_impossible(vehicle, options.case)
    refuse_right_stack(options, vehicle)
    in_millimeters(options, vehicle.case.units)
    fitted, fit = _fitted(options, vehicle)
    made = sheet(vehicle, fitted, options.kind, fit or "as-is")
    if fit is None:
        sys.stderr.write(f"{NOTHING_FITS}\n")
    if options.json:
        sys.stdout.write(json_text(made, made.subject))
    else:
        plain = options.text or options.page is not None
        sys.stdout.write(sheet_text(made) if plain else sheet_html(made))
    if options.page is not None:
        from optimizer.cli.files_out import write_file

        write_file("page", options.page, sheet_html(made))
    return 1 if fit is None else 0


def _fitted(
    options: argparse.Namespace, vehicle: "Vehicle"
) -> "tuple[list[Fitted], FitKind | None]":
    """What is fitted to each wheel, as asked for, or number 1 of `suggest`; and which of them.

    None, where none fits, goes with the car as it is.
    """
    asked = (options.outer_drop, options.right_outer_drop, options.rack_raise)
    return _best(vehicle) if asked == (None, None, None) else (_asked(options, vehicle), "asked")


def _best(vehicle: "Vehicle") -> "tuple[list[Fitted], FitKind | None]":
    from optimizer.answers.suggest import suggest

    result = suggest(vehicle)
    if result.first is None:
        return [*result.as_is.wheels], None
    return [*result.first.wheels], "as-is" if result.first.is_as_is else "best"


def _asked(options: argparse.Namespace, vehicle: "Vehicle") -> "list[Fitted]":
    from optimizer.models.setting import Fitted

    left, right = options.outer_drop or 0.0, options.right_outer_drop
    drops = (left, left if right is None else right)
    return [
        Fitted(
            side=case.side,
            outer_drop_mm=drop,
            stack_mm=[],
            rack_raise_mm=options.rack_raise or 0.0,
            **case.linkage_choices[0].named,
        )
        for case, drop in zip(vehicle.wheels, drops, strict=False)
    ]
