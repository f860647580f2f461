"""Cars handed out to a crew, and gathered in the order in which they came."""

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Future

from optimizer.errors import PivotwrightError
from optimizer.screening.crews import Crew
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
                under_way.append((task, _handed(task, crew)))
            if not under_way:
                return
            task, future = under_way.popleft()
            try:
                yield future.result()
            except crew.given_up:
                yield _given_up(task)
            except BrokenExecutor:
                # Whose fault it was is not known: what is not done is done one by one.
                crew.renew()
                for one, other in [(task, future), *under_way]:
                    yield other.result() if _done(other) else _alone(one, crew)
                under_way.clear()
    except CancelledError:
        raise PivotwrightError(
            "The workers are gone before all was done; the same command goes on from there."
        ) from None


def _handed(task: Task, crew: Crew) -> "Future[Screened]":
    try:
        return crew.executor.submit(screened, task)
    except BrokenExecutor as fault:  # while this was being handed out; told when its turn comes
        broken: Future[Screened] = Future()
        broken.set_exception(fault)
        return broken


def _done(future: "Future[Screened]") -> bool:
    return future.done() and not future.cancelled() and future.exception() is None


def _alone(task: Task, crew: Crew) -> Screened:
    for _ in range(TRIES):
        try:
            return crew.executor.submit(screened, task).result()
        except BrokenExecutor:
            crew.renew()
    return _given_up(task)


def _given_up(task: Task) -> Screened:
    name = task.car.name
    return not_screened(task.car, f"{name}: ended its worker again and again (too little memory?)")
