"""Tilt and gap over wheel travel and lock, as maps; and the settings that a page lets one try."""

from collections.abc import Iterator

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import listed, or_none
from optimizer.car.settings import Rows, Settings
from optimizer.limits.margins import margins, watched_at
from optimizer.limits.near import with_near_tubes
from optimizer.limits.stops import smallest
from optimizer.limits.watched import Watched
from optimizer.models.pictures import LimitMap, TriedSetting

STEPS = 8  # of a map, each way
MOST_STACKS = 31  # a slider's stops
MOST_RAISES = 9


def limit_maps(evaluator: Evaluator, setting: Settings) -> list[LimitMap]:
    """Maps of both joints' tilt and of the smallest gap, as far as the case limits them."""
    travel = np.linspace(evaluator.travel[0], evaluator.travel[-1], STEPS + 1)
    full = evaluator.case.steering.rack_travel
    rack = np.linspace(-full, full, STEPS + 1) if full else np.zeros(1)
    places = np.meshgrid(rack, travel)
    at = places[0].ravel(), places[1].ravel()
    near = with_near_tubes(evaluator, setting, at[::-1])
    watched = watched_at(near, setting, at)
    shape = (travel.size, rack.size)
    return [
        LimitMap(
            kind="tilt" if kind == "tilt" else "gap",
            name=name,
            limit=limit,
            travel_mm=travel.tolist(),
            rack_travel_mm=rack.tolist(),
            values=[listed(row) for row in value.reshape(shape)],
        )
        for kind, name, limit, value in _shown(watched)
    ]


def _shown(watched: list[Watched]) -> Iterator[tuple[str, str, float, Array]]:
    """Each joint's tilt, then the gap that leaves least to what is wanted anywhere."""
    for one in watched:
        if one.kind == "tilt":
            yield "tilt", one.name, one.limit, one.value()[0]
    gaps = [(one, one.value()[0]) for one in watched if one.kind == "gap"]
    if gaps:
        one, value = min(gaps, key=lambda gap: float(np.nanmin(gap[1]) - gap[0].limit))
        yield "gap", one.name, one.limit, value


def tried_settings(evaluator: Evaluator, settings: Settings, marked: int) -> list[TriedSetting]:
    """Every stack with every raise that a page shows, solved exactly.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        All that can be built.
    marked : int
        Row that is shown whatever else is left out, whose linkage the others have too.
    """
    rows = _thinned(settings, marked)
    shown = settings.rows(rows)
    change = np.degrees(evaluator.toe_change(shown))
    limits = margins(evaluator, shown, follow="smallest")
    return [
        TriedSetting(
            outer_drop_mm=float(shown.outer_drop[k]),
            rack_raise_mm=float(shown.rack_raise[k]),
            peak_toe_change_deg=or_none(np.abs(change[k]).max()),
            toe_change_deg=listed(change[k]),
            tilt_margin_deg=smallest(limits, "tilt", k),
            clearance_mm=smallest(limits, "gap", k),
            fits=all(margin.margin[k] >= 0.0 for margin in limits),
        )
        for k in range(len(shown))
    ]


def _thinned(settings: Settings, marked: int) -> Rows:
    """Rows of the stacks and raises that are shown, one a pair, by stack and then by raise."""
    alike = settings.linkage == settings.linkage[marked]
    drops, raises = settings.outer_drop, settings.rack_raise
    stacks = _some(np.unique(drops[alike]), MOST_STACKS, drops[marked])
    heights = _some(np.unique(raises[alike]), MOST_RAISES, raises[marked])
    kept = np.flatnonzero(alike & np.isin(drops, stacks) & np.isin(raises, heights))
    _, first = np.unique(np.stack([drops[kept], raises[kept]]), axis=1, return_index=True)
    rows: Rows = kept[first]
    return rows


def _some(values: Array, most: int, kept: float) -> Array:
    """At most so many of rising values, both ends, 0 and one that is `kept` among them."""
    if values.size <= most:
        return values
    picked = values[np.linspace(0, values.size - 1, most - 2).round().astype(int)]
    return np.unique([*picked, kept, *values[values == 0.0]])
