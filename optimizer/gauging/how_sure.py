"""How sure a choice was by tape alone, and how sure it is after what was read, stage by stage."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from optimizer.car.adjust import linkage_choice
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings, joined_settings
from optimizer.gauging.fit import FittedPoints, corrected_car, fitted_points, unread
from optimizer.gauging.next_stack import may_be_chosen
from optimizer.gauging.observation import Observation
from optimizer.limits.described import fitted_by
from optimizer.limits.kept import FOLLOWED, kept_in_cars
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.how_sure import Compared, HowSure, Role, SureAfter
from optimizer.models.setting import Chances, Fitted
from optimizer.models.vehicle import Vehicle
from optimizer.options.chances import WITH_RIVALS, InCars, chances_of, limits_told
from optimizer.options.dimensions import option_space
from optimizer.options.ranking import ranked
from optimizer.options.space import Space

Pieces = tuple[float, ...]


def first_by_tape(vehicle: Vehicle) -> list[Fitted]:
    """What the tape alone would have fitted to each wheel, as `suggest`; empty if nothing fits."""
    space = option_space(vehicle)
    first = ranked(space, 1).fitting[:1]
    return [
        wheel.fitted(row)
        for option in first
        for wheel, row in zip(space.wheels, option.rows, strict=True)
    ]


def setting_of(case: Case, fitted: Fitted) -> Settings | None:
    """A batch of one; None where the case does not list that choice of the linkage."""
    try:
        choice = linkage_choice(case, dict(fitted))
    except StopIteration:
        return None
    drop, up, forward = fitted.outer_drop_mm, fitted.rack_raise_mm, fitted.rack_fore_aft_mm
    return Settings.single(drop, up, choice, forward)


class Followed(Struct, frozen=True):
    """Settings (M,) that are followed through the stages, with the pieces and roles of each.

    `space` is what can be built, for the best of each car; `wheel` the place of the wheel in its
    vehicle, for the draw.
    """

    settings: Settings
    pieces: list[Pieces]
    roles: list[list[Role]]
    space: Space
    wheel: int

    @staticmethod
    def of(named: Sequence[tuple[Role, Settings, Pieces]], space: Space, wheel: int) -> "Followed":
        """Follow batches of one; what has several roles is followed once."""
        every = joined_settings([setting for _, setting, _ in named])
        codes = every.codes().tolist()
        first = [codes.index(code) for code in dict.fromkeys(codes)]
        return Followed(
            every.rows(np.array(first)),
            [named[k][2] for k in first],
            [[named[k][0] for k, code in enumerate(codes) if code == codes[at]] for at in first],
            space,
            wheel,
        )

    def chances(
        self, car: Evaluator, fit: FittedPoints, rivals: Settings, seed: int
    ) -> list[Chances | None]:
        """How each setting comes out in the cars that a fit leaves possible.

        `car` has its most probable points; `rivals` are what the best of each is among.
        """
        root = np.asarray(np.linalg.cholesky(fit.covariance), dtype=np.float64)
        cars = ManyCars.drawn(car, seed, self.wheel, root=root)
        found = margins(car, self.settings, follow="smallest")
        kept, shares = kept_in_cars(car, self.settings, found, cars)
        fits = np.all([one.margin >= 0.0 for one in found], axis=0)
        peaks, few = cars.peaks(self.settings), len(cars.points) // WITH_RIVALS
        rivalling = np.vstack([peaks[fits, :few], cars.first(few).peaks(rivals)])
        told = limits_told(shares, car, len(self.pieces))
        wanted = car.case.aim.band
        met = peaks <= car.tolerance if wanted is None else cars.in_band(self.settings)
        held = InCars(peaks, met, kept)
        return chances_of(held, rivalling, cars.sound, car.case, told)


def how_sure(
    tape: Evaluator,
    seen: Sequence[Sequence[Observation]],
    fit: FittedPoints,
    followed: Followed,
    seed: int,
) -> HowSure:
    """Tell what may be fitted by tape alone, after the first sweep, after all, after the visit.

    Parameters
    ----------
    tape : Evaluator
        The case as measured by tape.
    seen : sequence of sequences of Observation
        Of each sweep, its toe first.
    fit : FittedPoints
        What all of them together make of the points.
    followed : Followed
        What is told of.
    seed : int
        Of the draw of cars; the same errors at every stage, as far as each leaves them open.
    """

    def after(known: FittedPoints) -> list[Chances | None]:
        car = corrected_car(tape, known)
        return followed.chances(car, known, may_be_chosen(car, followed.space), seed)

    settings = [followed.settings.rows(np.array([k])) for k in range(len(followed.pieces))]
    known = margins(tape, settings[0], ends_only=True)
    return HowSure(
        limits_stated=any(one.kind in FOLLOWED for one in known),
        compared=[
            Compared(**dict(fitted_by(tape.case, setting, pieces)), roles=roles)
            for setting, pieces, roles in zip(
                settings, followed.pieces, followed.roles, strict=True
            )
        ],
        stages=[
            SureAfter(sweeps=sweeps, beside=beside, chances=after(known))
            for sweeps, beside, known in _stages(tape, seen, fit)
        ],
    )


def _stages(
    tape: Evaluator, seen: Sequence[Sequence[Observation]], fit: FittedPoints
) -> Iterator[tuple[int, bool, FittedPoints]]:
    """Sweeps that are known, whether what was read beside them is, and what both make of it."""
    toe, beside = [one[0] for one in seen], any(len(one) > 1 for one in seen)
    yield 0, False, unread(tape)
    if len(toe) > 1:
        yield 1, False, fitted_points(tape, toe[:1], fit)
    if beside:
        yield len(toe), False, fitted_points(tape, toe, fit)
    yield len(toe), beside, fit
