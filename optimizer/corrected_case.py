"""A case file with its points corrected, every comment kept."""

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


def refuse_existing(path: Path, car: Case | BothSides | None, *, overwrite: bool) -> None:
    """Stop before any work where the corrected case could not be written.

    Raises
    ------
    PivotwrightError
        There is no case to correct, or it asks for an alignment, so that what the readings correct
        are not the points that were measured; the file exists, or its folder does not.
    """
    if car is None:
        raise PivotwrightError("--write: there is no case to correct; name one before the readings")
    wheels = car.wheels if isinstance(car, BothSides) else (car,)
    if any(case.alignment is not None for case in wheels):
        raise PivotwrightError(
            "--write: the case has an [alignment], so the readings correct the points of the car "
            "with it set, not the measured ones\n(set it, measure again, and take the table away)"
        )
    if path.exists() and not overwrite:
        raise PivotwrightError(f"--write {path}: exists already; add --overwrite to replace it")
    if path.is_dir() or not path.absolute().parent.is_dir():
        raise PivotwrightError(f"--write {path}: must be a file in a folder that exists")


def write_corrected(path: Path, text: str) -> None:
    """Write a corrected case; PivotwrightError where the system does not let it."""
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as fault:
        raise PivotwrightError(f"--write {path}: {fault.strerror}") from fault


def corrected_text(text: str, case: Case, result: GaugeResult) -> str:
    """Text of the case file with one wheel's fitted points in place of the measured ones."""
    document = tomlkit.parse(text)
    wheel = document.get(result.subject.side, document)  # where both wheels are measured
    points = wheel["points"]
    for name, point in result.fitted_points.items():
        for place, length in enumerate(point):
            value = round(length / MM_PER[case.units], DECIMALS[case.units])
            points[name][place] = value
    return NOTE + tomlkit.dumps(document).removeprefix(NOTE)
