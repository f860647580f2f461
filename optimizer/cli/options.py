"""Options that several commands share, and what a number on the command line may be."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from optimizer.cli.lengths import add_lengths, length
from optimizer.errors import PivotwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimizer.files.kits import Kits
    from optimizer.models.answer import Answer
    from optimizer.models.check import CheckResult
    from optimizer.models.kits import Kit
    from optimizer.models.subject import Subject
    from optimizer.models.suggest import SuggestResult
    from optimizer.models.vehicle import Vehicle

Told = TypeVar("Told", "CheckResult", "SuggestResult")


def add_case(parser: argparse.ArgumentParser) -> None:
    """Take the path of a case file."""
    parser.add_argument("case", metavar="CASE", type=Path, help="case file (TOML)")


def add_json(parser: argparse.ArgumentParser) -> None:
    """Take --json."""
    parser.add_argument(
        "--json", action="store_true", help="print the answer as JSON, and nothing else, on stdout"
    )


def printed_as_json(options: argparse.Namespace, answer: "Answer", subject: "Subject") -> bool:
    """Print an answer as JSON where that is asked for, and say whether it was."""
    if options.json:
        from optimizer.reports.as_json import json_text

        sys.stdout.write(json_text(answer, subject))
    return bool(options.json)


def print_json(told: object) -> None:
    """Print as JSON, every letter as it is."""
    import json  # `--help` has no need of it

    sys.stdout.write(json.dumps(told, indent=2, ensure_ascii=False) + "\n")


def add_depth(parser: argparse.ArgumentParser) -> None:
    """Take --verbose or --quiet."""
    depth = parser.add_mutually_exclusive_group()
    depth.add_argument("--verbose", action="store_true", help="print all there is to say")
    add_quiet(depth)


def add_quiet(parser: argparse._ActionsContainer) -> None:
    """Take --quiet."""
    parser.add_argument("--quiet", action="store_true", help="print the verdict alone")


def add_what_to_read(parser: argparse.ArgumentParser) -> None:
    """Take --what-to-read."""
    parser.add_argument(
        "--what-to-read",
        action="store_true",
        help="also rank what to read on the car first, points measured again among it, by what it "
        "would save in choosing the stack",
    )


def with_what_to_read(answer: Told, vehicle: "Vehicle", options: argparse.Namespace) -> Told:
    """Add the ranking of what to read first, where it is asked for."""
    if not options.what_to_read:
        return answer
    from optimizer.gauging.before_reading import readings_before

    found = readings_before(vehicle, getattr(options, "seed", 0))
    return answer.model_copy(update={"what_to_read": found})


def add_right_stack(parser: argparse.ArgumentParser) -> None:
    """Take --right-outer-drop."""
    parser.add_argument(
        "--right-outer-drop",
        type=length,
        metavar="LENGTH",
        help="that of the right wheel, where both are measured (as --outer-drop)",
    )


LINKAGE = (
    ("--ball-joint-drop", "lower ball joint moved down by an extension"),
    ("--frame-bracket-raise", "lateral link's bracket at the frame, raised"),
    ("--axle-bracket-raise", "lateral link's bracket at the axle, raised"),
    ("--knuckle-plate", "plate under the strut's foot"),
    ("--crossmember-spacer", "spacer on the crossmember"),
    ("--lift-block", "block between leaf spring and axle"),
    ("--shackle-longer", "shackle longer than measured"),
    ("--rack-tilt", "left end of the rack above its right one"),
)


def add_linkage(parser: argparse.ArgumentParser) -> None:
    """Take the lengths of what may be fitted to the linkage itself."""
    add_lengths(parser, ((name, length, f"{text} (the case's first)") for name, text in LINKAGE))


def linkage_of(options: argparse.Namespace) -> dict[str, float]:
    """Lengths that are given of the linkage, by the part that they are of. [mm]."""
    names = [name.removeprefix("--").replace("-", "_") for name, _ in LINKAGE]
    return {name: x for name in names if (x := getattr(options, name)) is not None}


def refuse_right_stack(options: argparse.Namespace, vehicle: "Vehicle") -> None:
    """Stop where a stack is named for a right wheel that the case does not have."""
    if options.right_outer_drop is not None and not vehicle.both_wheels:
        raise PivotwrightError(
            "--right-outer-drop: the case measures one wheel; its stack is --outer-drop"
        )


def add_kits(parser: argparse.ArgumentParser) -> None:
    """Take --kits."""
    parser.add_argument(
        "--kits",
        type=Path,
        metavar="FILE",
        help="kits file (TOML): try these kits in place of the case's own stack or shelf",
    )


def add_rank_by(parser: argparse.ArgumentParser) -> None:
    """Take --rank-by."""
    parser.add_argument(
        "--rank-by",
        choices=["nominal", "expected", "worst"],
        default="nominal",
        help="rank by the peak of the car as measured (nominal), or over the cars that tape and "
        "build leave possible, what keeps every limit in 9 of 10: by the mean of their peaks "
        "(expected) or the peak that 95 of 100 do not exceed (worst)",
    )


def kits_of(options: argparse.Namespace) -> "Kits":
    """Read the kits that --kits names; rows that can't be used or look odd are named on stderr."""
    from optimizer.files.kits import Kits, read_kits

    if options.kits is None:
        return Kits(kits=(), currency=None, refused=None)
    kits = read_kits(options.kits)
    _tell_left_out(kits.refused, kits.kits)
    for place, message in kits.doubted:
        said = " ".join(message.split())
        sys.stderr.write(f"Worth a second look in {options.kits}: {place} {said}\n")
    return kits


def kits_for(vehicle: "Vehicle", options: argparse.Namespace) -> "Kits":
    """Read the kits that --kits names, but for those that can't be judged on this car."""
    from msgspec.structs import replace

    from optimizer.options.hardware import judged_on

    kits = kits_of(options)
    judged, unjudged = judged_on(vehicle, kits.kits)
    if unjudged is not None and not judged:
        raise unjudged
    _tell_left_out(unjudged, judged)
    return replace(kits, kits=judged)


def _tell_left_out(refused: PivotwrightError | None, used: "Sequence[Kit]") -> None:
    if refused is not None:
        names = ", ".join(kit.name for kit in used)
        sys.stderr.write(f"{refused}\nThese are left out; used are {names}.\n")


def count(text: str) -> int:
    """Read a whole number from 1 up."""
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 1_000_000:
        raise argparse.ArgumentTypeError(f"must be a whole number from 1 up, got {text!r}")
    return int(text)


def seed(text: str) -> int:
    """Read a seed."""
    if not text.isascii() or not text.isdigit() or int(text) >= 2**32:
        raise argparse.ArgumentTypeError(f"must be a whole number from 0 up, got {text!r}")
    return int(text)
