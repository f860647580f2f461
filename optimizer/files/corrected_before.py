"""What must hold before a case is corrected by readings: it can be written, and was not before."""

from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

from optimizer.errors import PivotwrightError
from optimizer.files.whole_file import refuse_file
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle


def refuse_to_write(
    path: Path, vehicle: Vehicle | None, readings: Sequence[Path], *, overwrite: bool
) -> None:
    """Stop before any work where the corrected case could not be written, or would cost a sweep.

    Raises
    ------
    PivotwrightError
        There is no case to correct; the file exists or holds the readings, or its folder does not
        exist.
    """
    if vehicle is None:
        raise PivotwrightError("--write: there is no case to correct; name one before the readings")
    refuse_file("--write", path, readings, overwrite=overwrite)


def refuse_corrected_by(path: Path, text: str, readings: Sequence[Readings]) -> None:
    """Stop where the points of a case were corrected by the same readings before.

    Raises
    ------
    PivotwrightError
        Names the readings.
    """
    for one in readings:
        if named(one) in text:
            raise PivotwrightError(
                f"{one.name}: the points of {path} were corrected by these readings already, and "
                "would be a second time; give them to the case as measured by tape, or sweep again"
            )


def named(readings: Readings) -> str:
    """Name readings as a corrected case does, by what tells their rows from all others."""
    rows = (readings.side, readings.readings)
    return f"# Corrected by readings {sha256(repr(rows).encode()).hexdigest()[:12]}"
