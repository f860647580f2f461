"""What was fitted to the linkage for a sweep, and the case that lists it."""

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from optimizer.car.linkage import BRACKETS, LISTED, linkage_parts, listed, with_lists
from optimizer.models.case import Case
from optimizer.models.points import BeamAxlePoints
from optimizer.models.readings import Readings
from optimizer.wording.refused_readings import refused

OF_STEERING = ("steered", "turn_toe_out", "caster_sweep")
SAME_BRACKET_MM = 1e-3


def typed_linkage(readings: Readings) -> tuple[float, ...]:
    """What was fitted as typed, standard parts where nothing is said. [mm]."""
    return tuple(getattr(readings, key) or 0.0 for key in LISTED)


def case_with_fitted(case: Case, readings: Sequence[Readings]) -> Case:
    """Make the case that lists every part of the linkage with which it was swept.

    Each takes an alignment of its own, so where one is asked for only what was fitted is listed.

    Raises
    ------
    PivotwrightError
        An alignment is asked for, and the sweeps have several of a part; or the readings name a
        part that the case's suspension has not.
    """
    for one in readings:
        _refuse_missing_parts(one, case)
    lists = {}
    for key in linkage_parts(case):
        if key in BRACKETS:
            continue  # each pair of them must be listed
        own = listed(case, key)
        typed = [getattr(one, key) for one in readings]
        fitted = [own[0] if x is None else x for x in typed]
        if case.alignment is not None and len(set(fitted)) > 1:
            raise refused(readings[-1], "other-extension", key=key)
        lists[key] = fitted if case.alignment is not None else [*own, *fitted]
    return with_lists(case, lists)


def _refuse_missing_parts(readings: Readings, case: Case) -> None:
    """Stop where a sweep names a part that the suspension of the case has not."""
    there = linkage_parts(case)
    for key in (key for key in LISTED if key not in there):
        if getattr(readings, key) is not None:
            raise refused(readings, "no-such-part", key=key, layout=case.layout)
    for key in OF_STEERING if case.steering_kind is None else ():
        if getattr(readings, key) is not None:
            raise refused(readings, "not-steered", key=key)


def fitted_linkage(readings: Readings, case: Case) -> int:
    """Place of what was fitted in `Case.linkage_choices`; the first where nothing is said.

    Raises
    ------
    PivotwrightError
        The readings name brackets that the case does not list.
    """
    choices = case.linkage_choices
    if not isinstance(case.points, BeamAxlePoints):
        said = {key: x for key in LISTED if (x := getattr(readings, key)) is not None}
        return choices.index(replace(choices[0], **said))
    typed = [getattr(readings, key) for key in BRACKETS]
    pairs = case.lateral_link.pairs
    pair = [now if x is None else x for x, now in zip(typed, pairs[0], strict=True)]
    for choice, pair_listed in enumerate(pairs):
        if np.allclose(pair_listed, pair, atol=SAME_BRACKET_MM):
            return choice
    raise refused(readings, "other-brackets", frame=pair[0], axle=pair[1])
