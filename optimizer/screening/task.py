"""One car of a screening as a piece of work that any process can do."""

from collections.abc import Sequence

from msgspec import Struct

from optimizer.errors import PivotwrightError
from optimizer.files.cars import Car
from optimizer.models.kits import Kit
from optimizer.models.screen import RefusedCar


class Task(Struct, frozen=True):
    """A car to try kits on at ride heights. [mm]."""

    car: Car
    lowered_by: tuple[float, ...]
    kits: tuple[Kit, ...]


class Screened(Struct, frozen=True):
    """Rows of a car as lines of JSON, or why it has none."""

    car: Car
    lines: Sequence[str] = ()
    refused: RefusedCar | None = None


def screened(task: Task) -> Screened:
    """Screen a car; whatever is wrong with it is its own trouble and stops no other."""
    from optimizer.answers.screen import screened_rows  # brings numpy, which whoever asks lacks

    car = task.car
    try:
        rows = screened_rows(
            car.read(), task.lowered_by, task.kits, case=car.name, digest=car.digest
        )
    except PivotwrightError as mistake:
        return not_screened(car, str(mistake))
    except Exception as fault:
        told = f"{type(fault).__name__}: {fault}"
        return not_screened(car, f"{car.name}: could not be computed ({told}); please report it")
    return Screened(car, [row.model_dump_json() for row in rows])


def not_screened(car: Car, message: str) -> Screened:
    """A car without rows."""
    return Screened(car, refused=RefusedCar(case=car.name, message=message))
