"""`pivotwright reach CASE`: which ride heights can be met, by which kit."""

import argparse
import math
import sys

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.lengths import ROUNDING, heights
from optimizer.cli.options import (
    add_case,
    add_json,
    add_kits,
    add_quiet,
    kits_for,
    printed_as_json,
    seed,
)
from optimizer.errors import file_name
from optimizer.units import MM_PER_INCH, Units

SUMMARY = "which ride heights can be met, by which kit, and what stops the others"
# Step of the heights that are looked at where none are asked for, and how far beyond the own one.
USUAL_MM: dict[Units, tuple[float, float]] = {
    "mm": (5.0, 20.0),
    "in": (0.25 * MM_PER_INCH, 1.0 * MM_PER_INCH),
}
NEAR_MM = 1e-6  # heights that differ by less are one


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `reach`."""
    add_case(parser)
    add_json(parser)
    add_files_out(parser, ("page", "csv"))
    add_quiet(parser)
    add_kits(parser)
    parser.add_argument(
        "--heights",
        type=heights,
        metavar="A:B:STEP",
        help="how much lower than measured, from A to B, in the case's unit or with one written "
        "behind the last number; below 0 higher, written --heights=-10:40:5 (from 0 to 20 beyond "
        "the case's own, lower or of a lifted one higher, in steps of 5; in quarters of an inch, "
        "to an inch beyond, for a case in inches)",
    )
    parser.add_argument(
        "--chances",
        action="store_true",
        help="say too in how many of the cars that tape and build leave possible each is met",
    )
    parser.add_argument(
        "--seed", type=seed, default=0, metavar="N", help="seed of the draw of those cars (0)"
    )


def usual_heights(own: float, units: Units) -> list[float]:
    """Heights from the one measured to beyond the case's own, in its units' steps. [mm].

    Lower ones, or of a lifted case higher ones; its own is among them.
    """
    step, beyond = USUAL_MM[units]
    way, far = (1.0 if own >= 0.0 else -1.0), abs(own)
    steps = [step * k for k in range(math.floor((far + beyond) / step + ROUNDING) + 1)]
    return sorted([own, *(way * one + 0.0 for one in steps if abs(one - far) > NEAR_MM)])


def run(options: argparse.Namespace) -> int:
    """Print the map; 1 if no height is reachable."""
    from optimizer.answers.reach import reach
    from optimizer.files.case_file import read_car

    refuse_files_out(options, [options.case, options.kits])
    vehicle = read_car(options.case)
    kits = kits_for(vehicle, options)
    units = vehicle.case.units
    if options.heights is None:
        asked = usual_heights(vehicle.case.ride.lowered_by, units)
    else:
        asked = options.heights.mm(units)
    result = reach(vehicle, asked, kits.kits, currency=kits.currency)
    if options.chances:
        from optimizer.answers.reach_chances import with_chances
        from optimizer.cli.progress import shown_progress

        with shown_progress("Drawing cars", "ride heights") as progress:
            result = with_chances(result, vehicle, kits.kits, options.seed, progress)
    if not printed_as_json(options, result, result.subject):
        from optimizer.reports.terminal_reach import reach_report

        sys.stdout.write(reach_report(result, file_name(options.case), quiet=options.quiet))
    if options.csv is not None:
        from optimizer.cli.files_out import write_file
        from optimizer.reports.csv_rows import reach_csv

        write_file("csv", options.csv, reach_csv(result))
    if options.page is not None:
        from optimizer.cli.files_out import source_of, write_page
        from optimizer.reports.pages.reach import reach_page

        write_page(options.page, reach_page(result, source_of(options.case, options.kits)))
    return 0 if any(row.reachable for row in result.heights) else 1
