"""`pivotwright sheet CASE`: a page to print and fill in at the car."""

import argparse
import sys
from typing import TYPE_CHECKING

from optimizer.cli.options import (
    add_case,
    add_json,
    add_right_stack,
    millimeters,
    refuse_right_stack,
)

if TYPE_CHECKING:
    from optimizer.car.adjust import Settings
    from optimizer.models.both_sides import BothSides
    from optimizer.models.case import Case

SUMMARY = "print a measuring sheet: what to prepare, which heights to read, what to expect"
NOTHING_FITS = (
    "Nothing that can be built keeps every limit; this sheet is for the car as it is. "
    "`suggest` names the reasons."
)
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
    add_right_stack(parser)


def run(options: argparse.Namespace) -> int:
    """Print the sheet, or one for each wheel; 1 if nothing fits."""
    from optimizer.answers.plausibility import refuse_impossible
    from optimizer.answers.sheet import sheet
    from optimizer.files.case_file import read_car
    from optimizer.models.both_sides import BothSides
    from optimizer.models.together import SheetOfBothSides
    from optimizer.reports.sheet import both_sheets_html, both_sheets_text, sheet_html, sheet_text

    car = read_car(options.case)
    refuse_impossible(car, options.case)
    refuse_right_stack(options, car)
    wheels = car.wheels if isinstance(car, BothSides) else (car,)
    fitted, fits = _fitted(options, car)
    if not fits:
        sys.stderr.write(f"{NOTHING_FITS}\n")
    made, *others = (
        sheet(case, setting, fit, options.kind)
        for case, (setting, fit) in zip(wheels, fitted, strict=True)
    )
    if others:
        made = SheetOfBothSides(**dict(made), right=others[0])
    if options.json:
        sys.stdout.write(made.model_dump_json(indent=2) + "\n")
    elif isinstance(made, SheetOfBothSides):
        sys.stdout.write(both_sheets_text(made) if options.text else both_sheets_html(made))
    else:
        sys.stdout.write(sheet_text(made) if options.text else sheet_html(made))
    return 0 if fits else 1


def _fitted(
    options: argparse.Namespace, car: "Case | BothSides"
) -> "tuple[list[tuple[Settings, str]], bool]":
    """What is fitted to each wheel, and that in words: as asked for, or number 1 of `suggest`.

    Where none fits, which is said too, the car is left as it is.
    """
    asked = (options.outer_drop, options.right_outer_drop, options.rack_raise)
    return _best(car) if asked == (None, None, None) else (_asked(options, car), True)


def _best(car: "Case | BothSides") -> "tuple[list[tuple[Settings, str]], bool]":
    from optimizer.answers.sides.suggest import suggest_both
    from optimizer.answers.suggest import suggest
    from optimizer.car.adjust import Settings, linkage_choice
    from optimizer.models.both_sides import BothSides
    from optimizer.reports.numbers import Reader
    from optimizer.reports.words import what_to_build

    found = []
    if isinstance(car, BothSides):
        both = suggest_both(car)
        results = [(car.left, both), (car.right, both.right)]
    else:
        results = [(car, suggest(car))]
    fits = all(any(row.fits for row in result.ranked) for _, result in results)
    for case, result in results:
        winner = next(row for row in result.ranked if (row.fits if fits else row.is_as_is))
        joint = linkage_choice(case, winner.model_dump())
        setting = (winner.outer_drop_mm, winner.rack_raise_mm, joint)
        fit = what_to_build(winner, result, Reader(result.subject))
        found.append((Settings.single(*setting), fit))
    return found, fits


def _asked(options: argparse.Namespace, car: "Case | BothSides") -> "list[tuple[Settings, str]]":
    from optimizer.car.adjust import Settings
    from optimizer.models.both_sides import BothSides
    from optimizer.units import length_text

    one = car.left if isinstance(car, BothSides) else car
    rack_raise, drops = options.rack_raise or 0.0, [options.outer_drop or 0.0]
    if isinstance(car, BothSides):
        right = options.right_outer_drop
        drops.append(drops[0] if right is None else right)
    up, joint = length_text(rack_raise, one.units), one.linkage_choices[0]
    return [
        (
            Settings.single(drop, rack_raise, joint),
            f"outer drop {length_text(drop, one.units)}, {one.words.inner} raise {up}",
        )
        for drop in drops
    ]
