"""Which rows of what was read beside toe the points can reach: what can't be so tells nothing."""

from collections.abc import Iterator, Mapping

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.car.tape import point_names
from optimizer.gauging.fit import foretold_rates
from optimizer.gauging.observation import Bools, Observation
from optimizer.models.read_beside import Unreached
from optimizer.models.readings import Readings
from optimizer.wording.refused_readings import Reason, refused


def reached_beside(
    tape: Evaluator, beside: Mapping[str, Observation], readings: Readings
) -> dict[str, Bools]:
    """Which rows can be reached, (N,), by the key of each reading that has others too.

    Raises
    ------
    PivotwrightError
        What is left of one tells nothing.
    """
    errors = np.zeros(3 * len(point_names(tape.corner)))
    told = foretold_rates(tape, [*beside.values()], errors) if beside else []
    found = {}
    for (key, one), (foretold, rates) in zip(beside.items(), told, strict=True):
        reached = np.isfinite(foretold) & np.isfinite(rates).all(axis=1)
        if reached.all():
            continue
        if not one.of_rows(reached).tells:
            reason: Reason = "out-of-reach" if _own_dials(key, readings) else "unreached-beside"
            raise refused(readings, reason, key=key)
        found[key] = reached
    return found


def unreached_beside(readings: Readings, reached: Mapping[str, Bools]) -> Iterator[Unreached]:
    """Name the rows that are left out, but for those that the sweep itself asks about."""
    for key, rows in reached.items():
        if not _own_dials(key, readings):
            lost = tuple((np.flatnonzero(~rows) + 1).tolist())
            yield Unreached(sweep=readings.name, key=key, rows=lost)


def _own_dials(key: str, readings: Readings) -> bool:
    """Whether the rows are those of the sweep's own two dials."""
    return key == "sideways" and readings.sideways is not None and readings.sideways.both_dials
