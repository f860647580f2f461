"""What a screening adds up to: which kit serves how many cars, and which sizes would serve most."""

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import groupby

from optimizer.answers.sizes import Runs, sizes_of
from optimizer.answers.suggest import facts_of
from optimizer.models.kits import Kit
from optimizer.models.reach import BlockedBy
from optimizer.models.screen import (
    HeightServed,
    KitServed,
    RefusedCar,
    ScreenedRow,
    ScreenSummary,
)


def screen_summary(
    rows: Iterable[ScreenedRow],
    lowered_by: Sequence[float],
    kits: Sequence[Kit],
    *,
    currency: str | None = None,
    refused: Sequence[RefusedCar] = (),
) -> ScreenSummary:
    """Count over all rows, one car at a time.

    Parameters
    ----------
    rows : iterable of ScreenedRow
        Those of a car one after another.
    lowered_by : sequence of float
        The ride heights of the screening. [mm]
    kits : sequence of Kit
        Those of the screening.
    currency : str, optional
        That of the kits' prices, passed on.
    refused : sequence of RefusedCar
        Passed on.
    """
    tally = _Tally(kits)
    for _, of_car in groupby(rows, key=lambda row: row.case):
        tally.take(of_car, len(lowered_by))
    return ScreenSummary(
        cars=tally.cars,
        with_band=tally.with_band,
        rows=tally.rows,
        currency=currency,
        kits=[
            KitServed(
                **dict(facts_of(kit)),
                cars=tally.anywhere[kit.name],
                cars_at_all_heights=tally.everywhere[kit.name],
                heights=_by_height(tally.met, kit.name, lowered_by),
                stopped_by=dict(tally.stopped[kit.name].most_common()),
            )
            for kit in kits
        ],
        served=_by_height(tally.met, None, lowered_by),
        sizes=sizes_of(tally.windows) if tally.windows else None,
        refused=list(refused),
    )


class _Tally:
    """Counts over the cars taken so far, however many: by kit, None standing for any of them."""

    def __init__(self, kits: Sequence[Kit]) -> None:
        self.cars = self.with_band = self.rows = 0
        self.met: Counter[tuple[str | None, float]] = Counter()
        self.anywhere: Counter[str] = Counter()
        self.everywhere: Counter[str] = Counter()
        self.stopped: dict[str, Counter[BlockedBy]] = {kit.name: Counter() for kit in kits}
        self.windows: Counter[Runs] = Counter()
        self._first = kits[0].name  # what would do is the same whatever the kit

    def take(self, rows: Iterable[ScreenedRow], heights: int) -> None:
        """Count the rows of one car."""
        self.cars += 1
        times: Counter[str] = Counter()
        served: set[float] = set()
        has_band = False
        for row in rows:
            has_band = row.has_band
            self.rows += 1
            self.stopped[row.kit].update(row.blocked_by)
            if row.reachable:
                self.met[row.kit, row.lowered_by_mm] += 1
                times[row.kit] += 1
                served.add(row.lowered_by_mm)
            if row.kit == self._first:
                self.windows.update(tuple(wheel.would_do_mm) for wheel in row.wheels)
        self.with_band += has_band
        self.met.update((None, height) for height in served)
        self.anywhere.update(times.keys())
        self.everywhere.update(kit for kit, count in times.items() if count == heights)


def _by_height(
    met: Counter[tuple[str | None, float]], kit: str | None, lowered_by: Sequence[float]
) -> list[HeightServed]:
    return [HeightServed(lowered_by_mm=height, cars=met[kit, height]) for height in lowered_by]
