"""`pivotwright screen CASES… --kits FILE`: many cars, kits and ride heights."""

import argparse
import sys
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.cli.lengths import heights
from optimizer.cli.options import add_json, count, kits_of, print_json

if TYPE_CHECKING:
    from optimizer.screening.crews import Crew
    from optimizer.units import Units

SUMMARY = "which kit serves how many of many cars, and at which ride heights"
USUAL = "0:50:5"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `screen`."""
    parser.add_argument(
        "cases",
        metavar="CASES",
        nargs="+",
        help="case files (TOML), folders, patterns in quotes ('cars/**/*.toml'), or tables with "
        "one car a row (CSV)",
    )
    add_json(parser)
    parser.add_argument(
        "--kits", type=Path, metavar="FILE", required=True, help="kits file (TOML): what to try"
    )
    parser.add_argument(
        "--heights",
        type=heights,
        default=heights(USUAL),
        metavar="A:B:STEP",
        help=f"how much lower than measured, from A to B, in mm if no unit stands "
        f"behind the last number ({USUAL})",
    )
    parser.add_argument(
        "--to",
        type=Path,
        default=Path("screened"),
        metavar="FOLDER",
        help="where rows.csv and rows.jsonl go (screened); a run that was stopped goes on there",
    )
    crew = parser.add_mutually_exclusive_group()
    crew.add_argument(
        "--workers", type=count, metavar="N", help="processes (as many as there are processors)"
    )
    crew.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="work on the Dask cluster with this scheduler, such as tcp://192.0.2.7:8786",
    )


def run(options: argparse.Namespace) -> int:
    """Screen what is not done yet, and print the summary; 1 if no kit serves any car."""
    from hashlib import sha256
    from importlib.metadata import version

    from optimizer.cli.progress import shown_progress
    from optimizer.errors import PivotwrightError
    from optimizer.files.rows_kept import KeptRows
    from optimizer.screening.run import Screening
    from optimizer.wording.screen import already_in

    kits, asked = kits_of(options), options.heights.mm("mm")
    screening = Screening(options.cases, asked, kits.kits)
    plan = {
        "format": 1,
        "version": version("pivotwright"),
        "heights_mm": asked,
        "kits": sha256(repr(kits.kits).encode()).hexdigest()[:16],
    }
    of_each = {(kit.name, height) for kit in kits.kits for height in asked}
    with KeptRows(options.to, plan, of_each) as kept:
        screening.take_over(kept)
        if kept.done:
            sys.stderr.write(f"{already_in(len(kept.done), options.to.as_posix())}\n")
        with closing(_crew(options)) as crew, shown_progress("Screening", "cars") as progress:
            screening.run(crew, kept, lambda text: sys.stderr.write(f"{text}\n"), progress)
        if not kept.done:
            raise PivotwrightError("None of the cars could be screened.")
        kept.write_table()
        # Imported when the work is done: this process needs little until then.
        from optimizer.answers.screen_summary import screen_summary

        summary = screen_summary(
            kept.rows(),
            asked,
            kits.kits,
            currency=kits.currency,
            refused=screening.refused,
        )
    if options.json:
        print_json(summary.model_dump())
    else:
        from optimizer.reports.terminal_screen import screen_report

        units: Units = options.heights.units or "mm"
        sys.stdout.write(screen_report(summary, options.to.as_posix(), units))
    return 0 if any(kit.cars for kit in summary.kits) else 1


def _crew(options: argparse.Namespace) -> "Crew":
    from optimizer.screening.crews import Cluster
    from optimizer.screening.processes import Processes

    if options.scheduler is not None:
        return Cluster(options.scheduler)
    return Processes(options.workers)
