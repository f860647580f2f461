"""`pivotwright curve CASE`: toe and its companions against wheel travel."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.lengths import FORMS, add_lengths, in_millimeters, length, step, stroke
from optimizer.cli.options import (
    add_case,
    add_json,
    add_kits,
    add_linkage,
    add_right_stack,
    kits_of,
    printed_as_json,
    refuse_right_stack,
)
from optimizer.cli.overlays import add_with, laid_over
from optimizer.units import MM_PER_INCH, Units

if TYPE_CHECKING:
    from optimizer.models.curve import CurveRequest, CurveResult
    from optimizer.models.vehicle import Vehicle

USUAL_STEP_MM: dict[Units, float] = {"mm": 10.0, "in": 0.5 * MM_PER_INCH}
SUMMARY = "toe, camber, caster and tilts against wheel travel, for any adjustment"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `curve`; lengths are in the case's unit, or say their own."""
    add_case(parser)
    add_json(parser)
    add_files_out(parser, ("page", "csv", "plot"))
    add_lengths(
        parser,
        (
            ("--outer-drop", length, f"outer pivot moved along the stud axis (0); {FORMS}"),
            ("--rack-raise", length, "inner pivot lifted (0)"),
            ("--rack-fore-aft", length, "inner pivot moved forward (0)"),
            ("--lowered-by", length, "ride height below the measured one (as in the case)"),
            ("--rack-travel", length, "rack or center link moved to the left (0)"),
            ("--bump", stroke, "travel above ride height (as in the case)"),
            ("--droop", stroke, "travel below ride height (as in the case)"),
            ("--step", step, "step of wheel travel (10 mm, or half an inch)"),
        ),
    )
    add_right_stack(parser)
    add_linkage(parser)
    parser.add_argument(
        "--keep-rod-length",
        action="store_true",
        help="leave tie rod or toe link as long as measured instead of resetting static toe",
    )
    parser.add_argument(
        "--opposite",
        action="store_true",
        help="move the other wheel the other way (roll); it changes an axle, and the total of "
        "two wheels that are both measured",
    )
    add_with(parser)
    add_kits(parser)


def run(options: argparse.Namespace) -> int:
    """Print the curve."""
    from optimizer.answers.curve import curve
    from optimizer.files.case_file import read_car
    from optimizer.models.curve import CurveRequest

    refuse_files_out(options, [options.case, options.kits, *map(Path, options.others)])
    vehicle = read_car(options.case)
    refuse_right_stack(options, vehicle)
    in_millimeters(options, vehicle.case.units)
    asked = {name: getattr(options, name) for name in CurveRequest.model_fields}
    given = {name: value for name, value in asked.items() if value is not None}
    request = CurveRequest(**{"step": USUAL_STEP_MM[vehicle.case.units], **given})
    others = laid_over(options.others, vehicle, request, kits_of(options).kits)
    result = curve(vehicle, request).model_copy(update={"others": others})
    if not printed_as_json(options, result, result.subject):
        from optimizer.reports.terminal_curve import curve_report

        sys.stdout.write(curve_report(result))
    _keep(options, vehicle, request, result)
    return 0 if result.goes_there else 1


def _keep(
    options: argparse.Namespace, vehicle: "Vehicle", request: "CurveRequest", result: "CurveResult"
) -> None:
    """Write the files that are asked for."""
    from optimizer.cli.files_out import source_of, write_file, write_page, write_plot

    if options.csv is not None:
        from optimizer.reports.csv_rows import curve_csv

        write_file("csv", options.csv, curve_csv(result))
    if options.plot is not None:
        from optimizer.reports.pages.curve import curve_figures

        write_plot(options.plot, curve_figures(result))
    if options.page is not None:
        from optimizer.answers.curve import curve_views
        from optimizer.reports.pages.curve import curve_page

        drawn = curve_views(vehicle, request)
        write_page(options.page, curve_page(result, drawn, source_of(options.case)))
