"""A screening from its cars to kept rows: what is done is not done again."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, Future, wait
from contextlib import suppress
from dataclasses import dataclass, field

from optimizer.errors import PivotwrightError
from optimizer.files.cars import Car, cars_in
from optimizer.files.rows_kept import KeptRows
from optimizer.models.kits import Kit
from optimizer.models.screen import RefusedCar
from optimizer.screening.crews import Crew
from optimizer.screening.processes import WorkerLost
from optimizer.screening.task import Screened, Task, not_screened, screened

TRIES = 2  # times that a car may end its worker when nothing else is under way

UnderWay = deque[tuple[Task, "Future[Screened]"]]


def gathered(tasks: Iterable[Task], crew: Crew) -> Iterator[Screened]:
    """What became of each car, in the order given; only a few are under way at a time.

    Where a worker dies, what it had in hand is done again.  A car that ends its worker though
    nothing else is under way is given up.

    Raises
    ------
    PivotwrightError
        The crew is gone.
    """
    waiting, under_way = iter(tasks), UnderWay()
    try:
        while True:
            while len(under_way) < crew.ahead() and (task := next(waiting, None)) is not None:
                under_way.append((task, crew.submit(screened, task)))
            if not under_way:
                return
            task, future = under_way.popleft()
            try:
                yield future.result()
            except crew.given_up:
                yield _given_up(task)
            except WorkerLost:
                wait(other for _, other in under_way)  # all together may have taken too much memory
                yield _alone(task, crew)
    except CancelledError:
        raise PivotwrightError(
            "The workers are gone before all was done; the same command goes on from there."
        ) from None


def _alone(task: Task, crew: Crew) -> Screened:
    for _ in range(TRIES):
        with suppress(WorkerLost):
            return crew.submit(screened, task).result()
    return _given_up(task)


def _given_up(task: Task) -> Screened:
    name = task.car.name
    return not_screened(task.car, f"{name}: ended its worker again and again (too little memory?)")


Progress = Callable[[int, int], None]
Told = Callable[[str], object]


@dataclass
class Screening:
    """Cars from places, see `cars_in`, to be tried with kits at ride heights [mm]."""

    places: Sequence[str]
    lowered_by: Sequence[float]
    kits: Sequence[Kit]
    refused: list[RefusedCar] = field(init=False, default_factory=list)
    digests: dict[str, str] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Name every car once; a file that can't be read is refused now."""
        for car in cars_in(self.places):
            if isinstance(car, PivotwrightError):
                self.refused.append(RefusedCar(case="", message=str(car)))
            else:
                self.digests[car.name] = car.digest

    def take_over(self, kept: KeptRows) -> None:
        """Go on with the rows of an earlier run, but for those of cars that have changed since.

        Raises
        ------
        PivotwrightError
            The folder holds rows of other cars.
        """
        strangers = kept.done.keys() - self.digests.keys()
        if strangers:
            many = "1 other car" if len(strangers) == 1 else f"{len(strangers)} other cars"
            raise PivotwrightError(
                f"--to {kept.folder}: holds rows of {many}, such as {min(strangers)}; "
                "name all cars, or another folder"
            )
        kept.forget({name for name, one in kept.done.items() if self.digests[name] != one})

    def run(self, crew: Crew, kept: KeptRows, told: Told, progress: Progress | None = None) -> None:
        """Screen every car that is not kept yet.

        Parameters
        ----------
        crew : Crew
            Does the work.
        kept : KeptRows
            Takes the rows of each car as soon as they are there, in the order of the cars.
        told : callable
            Called with each message about a car that is left out.
        progress : callable, optional
            Called with (cars done, cars).

        Raises
        ------
        PivotwrightError
            The crew is gone.
        """
        for one in self.refused:
            told(one.message)
        done = len(kept.done)
        for found in gathered(self._tasks(set(kept.done)), crew):
            if found.refused is None:
                kept.add(found.car.name, found.car.digest, found.lines)
            else:
                self.refused.append(found.refused)
                told(found.refused.message)
            done += 1
            if progress is not None:
                progress(done, len(self.digests))

    def _tasks(self, done: set[str]) -> Iterator[Task]:
        for car in cars_in(self.places):
            if isinstance(car, Car) and car.name not in done:
                yield Task(car, tuple(self.lowered_by), tuple(self.kits))
