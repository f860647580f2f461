"""Two names that stand in each other's place, where that alone settles every contradiction."""

from collections.abc import Callable, Iterator
from itertools import combinations

from msgspec import Struct
from msgspec.structs import replace

from optimizer.models.survey import BASE
from optimizer.models.surveyed import ExchangedTable, SwappedMarks
from optimizer.surveying.mistakes import Snooped, left_from_start, snooped
from optimizer.surveying.observations import Network, Observation
from optimizer.surveying.start import start_of

ROUNDS = 5  # in which a network falls into place if its names are right
IN_TABLE: dict[ExchangedTable, Callable[[Observation], bool]] = {
    "marks": lambda seen: seen.kind == "marks" and bool({*BASE} & {*seen.names}),
    "center_line": lambda seen: seen.kind == "center-line",
    "heights": lambda seen: seen.kind == "height",
    "lengths": lambda seen: seen.kind == "length",
}


class _Exchange(Struct, frozen=True):
    """Two names taken for each other: in all distances of marks, in those `of` one, in a table."""

    one: str
    other: str
    of: str | None = None
    table: ExchangedTable | None = None

    def undone(self, network: Network) -> Network:
        """The network with the names as they may have been meant."""
        names = {self.one: self.other, self.other: self.one}
        observations = [
            replace(seen, names=tuple(names.get(name, name) for name in seen.names))
            if self._concerns(seen)
            else seen
            for seen in network.observations
        ]
        return replace(network, observations=observations)

    def _concerns(self, seen: Observation) -> bool:
        if self.table is not None:
            return IN_TABLE[self.table](seen)
        return seen.kind in ("marks", "center-line") and self.of in (None, *seen.names)


def exchanged(network: Network, found: Snooped) -> SwappedMarks | None:
    """Two names that were interchanged, where that settles every contradiction.

    Two marks in all distances from them, those of the base in the distances of one mark, or two
    joints in the rows of one table.
    """
    if not found.mistakes:
        return None
    lone = len(found.mistakes) == 1
    left = {
        one: left_from_start(one.undone(network), ROUNDS)
        for one in _exchanges(network, _accused(found), 1 if lone else 2)
    }
    best = min(left, key=left.__getitem__)
    again = best.undone(network)
    settled = snooped(again, start_of(again.places, again.observations))
    if settled.mistakes or (lone and settled.fit.chi_square > found.fit.chi_square):
        return None
    return SwappedMarks(one=best.one, other=best.other, of=best.of, table=best.table)


def _exchanges(network: Network, accused: set[str], fewest: int) -> Iterator[_Exchange]:
    """What may have been exchanged; of two in a table at least `fewest` are accused."""
    names = network.places.names
    pairs = list(combinations(names, 2))
    yield from (_Exchange(*pair) for pair in pairs if accused & {*pair})
    yield from (_Exchange(*BASE, of=name) for name in names)
    yield from (
        _Exchange(*pair, table=table)
        for table in IN_TABLE
        for pair in pairs
        if len(accused & {*pair}) >= fewest
    )


def _accused(found: Snooped) -> set[str]:
    """Every name of a reading, a mark or a floor that may be wrong."""
    observations = found.network.observations
    return {
        name
        for mistake in found.mistakes
        for suspect in mistake
        for name in observations[suspect.rows[0]].names
    }
