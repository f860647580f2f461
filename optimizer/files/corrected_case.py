"""A case file with its points corrected, every comment kept."""

import shutil
from collections.abc import Sequence
from contextlib import suppress
from os.path import realpath
from pathlib import Path

import tomlkit

from optimizer.errors import PivotwrightError
from optimizer.models.both_sides import BothSides
from optimizer.models.case import Case
from optimizer.models.gauge import GaugeResult
from optimizer.units import MM_PER

NOTE = (
    "# Points corrected by gauge readings; the same readings would correct them twice, so don't "
    "give them again.\n"
)
DECIMALS = {"mm": 2, "in": 4}


def refuse_to_write(
    path: Path, car: Case | BothSides | None, readings: Sequence[Path], *, overwrite: bool
) -> None:
    """Stop before any work where the corrected case could not be written, or would cost a sweep.

    Raises
    ------
    PivotwrightError
        There is no case to correct, or it asks for an alignment, so that what the readings correct
        are not the points that were measured; the file exists or holds the readings, or its folder
        does not exist.
    """
    if car is None:
        raise PivotwrightError("--write: there is no case to correct; name one before the readings")
    wheels = car.wheels if isinstance(car, BothSides) else (car,)
    if any(case.alignment is not None for case in wheels):
        raise PivotwrightError(
            "--write: the case has an [alignment], so the readings correct the points of the car "
            "with it set, not the measured ones\n(set it, measure again, and take the table away)"
        )
    if realpath(path) in map(realpath, readings):
        raise PivotwrightError(f"--write {path}: holds the readings; name another file")
    if (path.exists() and not path.is_file()) or not path.absolute().parent.is_dir():
        raise PivotwrightError(f"--write {path}: must be a file in a folder that exists")
    if path.exists() and not overwrite:
        raise PivotwrightError(f"--write {path}: exists already; add --overwrite to replace it")


def write_corrected(path: Path, text: str) -> None:
    """Write a corrected case, all of it or nothing.

    Raises
    ------
    PivotwrightError
        The system does not let it; what stood there before still does.
    """
    target = Path(realpath(path))
    beside = target.with_name(f".{target.name}.part")
    try:
        beside.write_text(text, encoding="utf-8")
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    except OSError as fault:
        with suppress(OSError):
            beside.unlink()
        raise PivotwrightError(f"--write {path}: {fault.strerror}") from fault


def corrected_text(text: str, case: Case, result: GaugeResult) -> str:
    """Text of the case file with one wheel's fitted points in place of the measured ones."""
    document = tomlkit.parse(text)
    wheel = document.get(result.subject.side, document)  # where both wheels are measured
    points = wheel["points"]
    for name, point in result.fitted_points.items():
        for place, length in enumerate(point):
            value = round(length / MM_PER[case.units], DECIMALS[case.units])
            points[name][place] = value + 0.0  # never -0.0
    return NOTE + tomlkit.dumps(document).removeprefix(NOTE)
