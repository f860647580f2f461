"""`pivotwright sheet CASE`: a page to print and fill in at the car."""

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.lengths import FORMS, add_lengths, in_millimeters, length
from optimizer.cli.options import (
    add_case,
    add_json,
    add_kits,
    add_linkage,
    add_rank_by,
    add_right_stack,
    kits_for,
    linkage_of,
    printed_as_json,
    refuse_right_stack,
    seed,
)
from optimizer.errors import PivotwrightError, file_name

if TYPE_CHECKING:
    from pathlib import Path

    from optimizer.models.kits import Kit
    from optimizer.models.setting import Fitted
    from optimizer.models.sheet import FitKind
    from optimizer.models.vehicle import Vehicle

SUMMARY = "print a measuring sheet: what to prepare, which heights to read, what to expect"
NOTHING_FITS = (
    "Nothing that can be built keeps every limit{so_surely}; this sheet is for the car as it is. "
    "`suggest` names the reasons."
)
ASKED = ("outer_drop", "right_outer_drop", "rack_raise", "rack_fore_aft")  # beside the linkage
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
            ("--rack-fore-aft", length, "sheet for the inner pivot moved this far forward"),
        ),
    )
    add_right_stack(parser)
    add_linkage(parser)
    add_kits(parser)
    add_rank_by(parser)
    parser.add_argument(
        "--seed", type=seed, default=0, metavar="N", help="that of `suggest`, for its number 1 (0)"
    )


def run(options: argparse.Namespace) -> int:
    """Print the sheet; 1 if nothing fits."""
    from optimizer.answers.sheet import sheet
    from optimizer.car.plausibility import refuse_impossible
    from optimizer.files.case_file import read_car
    from optimizer.reports.sheet import sheet_html, sheet_text

    refuse_files_out(options, [options.case])
    vehicle = read_car(options.case)
    refuse_impossible(vehicle)
    refuse_right_stack(options, vehicle)
    in_millimeters(options, vehicle.case.units)
    _tell_doubts(options.case, vehicle)
    fitted, fit, kit = _fitted(options, vehicle)
    made = sheet(vehicle, fitted, options.kind, fit or "as-is", kit)
    if fit is None:
        so_surely = "" if options.rank_by == "nominal" else " in enough of the possible cars"
        sys.stderr.write(f"{NOTHING_FITS.format(so_surely=so_surely)}\n")
    if not printed_as_json(options, made, made.subject):
        plain = options.text or options.page is not None
        sys.stdout.write(sheet_text(made) if plain else sheet_html(made))
    if options.page is not None:
        from optimizer.cli.files_out import write_file

        write_file("page", options.page, sheet_html(made))
    return 1 if fit is None else 0


def _tell_doubts(path: "Path", vehicle: "Vehicle") -> None:
    """Say beside the sheet what `check` doubts of its case."""
    from optimizer.answers.check import doubted
    from optimizer.car.subject import subject_of
    from optimizer.wording.check import doubted_in_words
    from optimizer.wording.reader import Reader

    for line in doubted_in_words(doubted(vehicle), file_name(path), Reader(subject_of(vehicle))):
        sys.stderr.write(f"{line}\n")


def _fitted(
    options: argparse.Namespace, vehicle: "Vehicle"
) -> "tuple[Sequence[Fitted], FitKind | None, Kit | None]":
    """What is fitted to each wheel, as asked for, or number 1 of `suggest`; why, and of which kit.

    None, where none fits, goes with the car as it is.
    """
    asked = [name for name in ASKED if getattr(options, name) is not None]
    asked += linkage_of(options)
    if not asked:
        return _best(options, vehicle)
    if options.kits is not None or options.rank_by != "nominal":
        said = " and ".join(f"--{name.replace('_', '-')}" for name in asked)
        raise PivotwrightError(
            f"--kits and --rank-by choose what the sheet is for: leave out {said}, or say "
            "that alone"
        )
    return _asked(options, vehicle), "asked", None


def _best(
    options: argparse.Namespace, vehicle: "Vehicle"
) -> "tuple[Sequence[Fitted], FitKind | None, Kit | None]":
    from optimizer.answers.suggest import SuggestPlan, suggest
    from optimizer.options.study.run import StudyPlan

    kits = kits_for(vehicle, options).kits
    plan = SuggestPlan(StudyPlan(seed=options.seed), criterion=options.rank_by)
    result = suggest(vehicle, kits, plan)
    first = result.first
    if first is None:
        return result.as_is.wheels, None, None
    kit = next((one for one in kits if one.name == first.kit), None)
    return first.wheels, "as-is" if first.is_as_is else "best", kit


def _asked(options: argparse.Namespace, vehicle: "Vehicle") -> "list[Fitted]":
    from msgspec.structs import replace

    from optimizer.car.linkage import refuse_missing_parts
    from optimizer.models.setting import Fitted

    linkage = linkage_of(options)
    refuse_missing_parts(vehicle, linkage)
    left, right = options.outer_drop or 0.0, options.right_outer_drop
    drops = (left, left if right is None else right)
    return [
        Fitted(
            side=case.side,
            outer_drop_mm=drop,
            stack_mm=[],
            rack_raise_mm=options.rack_raise or 0.0,
            rack_fore_aft_mm=options.rack_fore_aft or 0.0,
            **replace(case.linkage_choices[0], **linkage).named,
        )
        for case, drop in zip(vehicle.wheels, drops, strict=False)
    ]
