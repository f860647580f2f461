"""`pivotwright curve CASE`: toe and its companions against wheel travel."""

import argparse
import sys

from optimizer.cli.options import (
    add_case,
    add_json,
    add_right_stack,
    millimeters,
    refuse_right_stack,
    step,
    stroke,
)
from optimizer.cli.pages import add_page

SUMMARY = "toe, camber, caster and tilts against wheel travel, for any adjustment"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `curve`; every length is in millimeters, whatever the case's units."""
    add_case(parser)
    add_json(parser)
    add_page(parser)
    for name, kind, default, text in (
        ("--outer-drop", millimeters, 0.0, "outer pivot moved along the stud axis (0)"),
        ("--rack-raise", millimeters, 0.0, "inner pivot lifted (0)"),
        ("--lowered-by", millimeters, None, "ride height below the measured one (as in the case)"),
        ("--rack-travel", millimeters, 0.0, "rack or center link moved to the left (0)"),
        ("--bump", stroke, None, "travel above ride height (as in the case)"),
        ("--droop", stroke, None, "travel below ride height (as in the case)"),
        ("--step", step, 10.0, "step of wheel travel (10)"),
    ):
        parser.add_argument(name, type=kind, default=default, metavar="MM", help=text)
    add_right_stack(parser)
    parser.add_argument(
        "--keep-rod-length",
        action="store_true",
        help="leave tie rod or toe link as long as measured instead of resetting static toe",
    )
    parser.add_argument(
        "--opposite",
        action="store_true",
        help="move the other wheel the other way (roll); it changes a beam axle, and the total of "
        "two wheels that are both measured",
    )


def run(options: argparse.Namespace) -> int:
    """Print the curve."""
    from optimizer.answers.curve import curve
    from optimizer.answers.plausibility import refuse_impossible
    from optimizer.files.case_file import read_car
    from optimizer.models.curve import CurveRequest

    vehicle = read_car(options.case)
    refuse_impossible(vehicle, options.case, used_travel=False)
    refuse_right_stack(options, vehicle)
    asked = {name: getattr(options, name) for name in CurveRequest.model_fields}
    request = CurveRequest(**asked)
    result = curve(vehicle, request)
    if options.json:
        from optimizer.reports.as_json import json_text

        sys.stdout.write(json_text(result, result.subject))
    else:
        from optimizer.reports.terminal_curve import curve_report

        sys.stdout.write(curve_report(result))
    if options.page is not None:
        from optimizer.answers.curve import curve_views
        from optimizer.cli.pages import source_of, write_page
        from optimizer.reports.pages.curve import curve_page

        drawn = curve_views(vehicle, request)
        page = curve_page({"as asked": result}, drawn, source_of([options.case]))
        write_page(options.page, page)
    return 0
