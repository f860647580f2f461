"""From a survey to points: the answer of `survey`."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec.structs import replace

from geometry.network import Adjusted, loose_directions, root_by_point
from geometry.vectors import Array
from optimizer.errors import CaseFileError, Fault
from optimizer.models.subject import Subject
from optimizer.models.survey import BASE, KINDS, Survey
from optimizer.models.surveyed import (
    BehindRear,
    FloorNotRead,
    LostMark,
    MoreNoise,
    StandsApart,
    StillBlank,
    SurveyAnswer,
    SurveyDoubt,
    SurveyedPoint,
    SurveyedReading,
    Unchecked,
    WrongHeights,
    WrongReading,
)
from optimizer.models.vehicle import BOTH_WHEELS_IN_ONE
from optimizer.surveying.exchanged import exchanged
from optimizer.surveying.lost_signs import lost_signs
from optimizer.surveying.mistakes import Snooped, Suspect, snooped, suspect_of
from optimizer.surveying.observations import Network, Observation, observations_of, unknowns_of
from optimizer.surveying.start import start_of
from optimizer.units import short_length

SLIP_MM = 20.0  # of a tape that slipped or was misread; common practice, no source
OPEN_SHARE = 0.1  # of a direction that nothing holds, for a point to be called open
NOISY_SIGMAS = 4.0  # of the spread of chi-square, by which readings scatter more than stated
ONE_DEGREE = np.tan(np.radians(1.0))
KEY_OF: dict[str, str] = {kind: key for key, kind in KINDS.items()}


def survey(read: Survey, path: str = "the survey") -> SurveyAnswer:
    """Find the points that the readings say, how sure that is, and what to read again.

    Parameters
    ----------
    read : Survey
        As read at the car; rows may be blank.
    path : str
        What a fault is listed under.

    Raises
    ------
    CaseFileError
        The readings leave points open; names each, with what is known of it.  Or the wheel center
        comes out at the other side of the car than `side` says.
    """
    observations = observations_of(read)
    _refuse_without_base(observations, path)
    network = Network(unknowns_of(read), observations)
    start = start_of(network.places, observations)
    _refuse_open(network, start, path)
    found = snooped(network, start)
    points = _points(found)
    _refuse_other_side(read, points, path)
    swapped = lost_signs(network, found) or exchanged(network, found)
    doubts: list[SurveyDoubt] = [swapped] if swapped else []
    doubts += [_stands_apart(mistake, found) for mistake in found.mistakes if swapped is None]
    whole = _of_the_whole(read, found, settled=swapped is not None)
    doubts += [*_behind_rear(points), *whole]
    names = found.network.places.names
    size = 3 * len(names)
    return SurveyAnswer(
        subject=_subject(read, found),
        points=points,
        base_mm=_base(found),
        readings=_readings(found),
        freedom=found.first.freedom,
        noise=_noise(found.fit),
        doubts=doubts,
        covariance_root=root_by_point(names, found.fit.covariance[:size, :size]),
    )


def _refuse_without_base(observations: Sequence[Observation], path: str) -> None:
    if not any(one.kind == "marks" and {*one.names} == {*BASE} for one in observations):
        hint = "(the distance of the two base marks on the line under the car)"
        raise CaseFileError(path, [Fault("marks", f'must hold a reading of ["A", "B"]\n{hint}')])


def _refuse_open(network: Network, start: Array, path: str) -> None:
    """Name every point that the readings leave open."""
    sigma = np.array([one.sigma for one in network.observations])
    loose = np.abs(loose_directions(network, start, sigma))
    if not loose.size:
        return
    names = network.places.names
    of_points = np.array([network.places.points(one).max(axis=-1) for one in loose]).max(axis=0)
    is_open = of_points > OPEN_SHARE * of_points.max()
    hint = "(a point needs a height, and two distances of its floor mark)"
    raise CaseFileError(
        path,
        [
            Fault(name, f"can't be placed yet, with {_known(name, network)} read\n{hint}")
            for name, opened in zip(names, is_open, strict=True)
            if opened
        ],
    )


def _known(name: str, network: Network) -> str:
    """What was read of a point, counted."""
    words = {
        "height": "height",
        "marks": "distance of its mark",
        "center-line": "distance to the center line",
        "length": "length",
    }
    counts = {
        word: sum(one.kind == kind and name in one.names for one in network.observations)
        for kind, word in words.items()
    }
    told = [f"{n} {word}{'s' if n > 1 else ''}" for word, n in counts.items() if n]
    return " and ".join(told) or "nothing"


def _refuse_other_side(read: Survey, points: Sequence[SurveyedPoint], path: str) -> None:
    """Stop where the wheel center does not lie on the side that was measured."""
    center = next(point.at_mm[1] for point in points if point.name == "wheel_center")
    if center > 0.0 if read.side == "left" else center < 0.0:
        return
    away, way = short_length(abs(center), read.units), "left" if center > 0.0 else "right"
    hint = "(distances in center_line are above 0 on the side that was measured)"
    message = f"must be where the wheel center lies, got {away} to the {way} by center_line\n{hint}"
    raise CaseFileError(path, [Fault("side", message)])


def _behind_rear(points: Sequence[SurveyedPoint]) -> Iterator[BehindRear]:
    """Ask about front pivots of an arm that come out behind the rear ones."""
    along = {point.name: point.at_mm[0] for point in points}
    for front in (name for name in along if name.endswith("_front")):
        rear = front.replace("_front", "_rear")
        if along[front] < along[rear]:
            yield BehindRear(front=front, rear=rear, by_mm=along[rear] - along[front])


def _stands_apart(mistake: Sequence[Suspect], found: Snooped) -> StandsApart:
    if (
        len(mistake) == 1
    ):  # a large one bends the fit it is found in: tell it where it hardly counts
        (only,) = mistake
        mistake = [replace(only, by=suspect_of(only.rows, found.fit).by)]
    return StandsApart(
        explanations=tuple(_explained(suspect, found) for suspect in mistake),
        sigmas=max(suspect.sigmas for suspect in mistake),
    )


def _explained(suspect: Suspect, found: Snooped) -> WrongReading | LostMark | WrongHeights:
    one = found.network.observations[suspect.rows[0]]
    if one.kind == "plumb-x":
        forward, left = (-by for by in suspect.by)
        return LostMark(point=one.names[0], forward_mm=forward, left_mm=left)
    if one.kind == "floor":
        return WrongHeights(point=one.names[0], by_mm=suspect.by[0])
    again = sum(
        (other.kind, other.row) == (one.kind, one.row) for other in found.network.observations
    )
    return WrongReading(
        kind=one.kind,
        location=_location(one),
        names=one.names,
        read=one.value,
        by=suspect.by[0],
        again=again,
    )


def _location(one: Observation) -> str:
    return f"{KEY_OF[one.kind]}[{one.row + 1}]"


def _of_the_whole(read: Survey, found: Snooped, *, settled: bool) -> list[SurveyDoubt]:
    """Doubts that are about no single reading; `settled` where one exchange explains all."""
    doubts: list[SurveyDoubt] = []
    noise, freedom = _noise(found.fit), found.fit.freedom
    if not settled and noise**2 > 1.0 + NOISY_SIGMAS * np.sqrt(2.0 / max(freedom, 1)):
        doubts.append(MoreNoise(times=noise, beside=bool(found.mistakes)))
    unseen = [
        (one.kind, one.names)
        for one in _readings(found)
        if one.kind != "slope" and (one.least_found is None or one.least_found > SLIP_MM)
    ]
    if unseen:
        doubts.append(Unchecked(rows=tuple(dict.fromkeys(unseen)), slip_mm=SLIP_MM))
    if read.floor is None:
        highest = max(_points(found), key=lambda point: point.at_mm[2])
        height = highest.at_mm[2]
        doubts.append(FloorNotRead(point=highest.name, height_mm=height, by_mm=height * ONE_DEGREE))
    if blank := sum(not row.values for rows in read.rows.values() for row in rows):
        doubts.append(StillBlank(rows=blank))
    return doubts


def _noise(fit: Adjusted) -> float:
    """What the readings scatter by, over what was stated; 1 where nothing tells."""
    return float(np.sqrt(fit.chi_square / fit.freedom)) if fit.freedom > 0 else 1.0


def _subject(read: Survey, found: Snooped) -> Subject:
    """The car as far as a survey knows it."""
    heights = {point.name: point.at_mm[2] for point in _points(found)}
    return Subject(
        name=read.name,
        layout=read.layout,
        steering_kind="drag-link" if read.layout in BOTH_WHEELS_IN_ONE else "rack",
        sides=[read.side],
        units=read.units,
        toe_unit="deg",
        toe_diameter_mm=2.0 * heights["wheel_center"],
    )


def _origin(found: Snooped) -> float:
    """Where the wheel center is along the car, counted from A. [mm]."""
    places = found.network.places
    return float(places.points(found.fit.unknowns)[places.place("wheel_center"), 0])


def _base(found: Snooped) -> tuple[float, float]:
    (a, b), origin = found.network.places.marks(found.fit.unknowns)[-2:, 0], _origin(found)
    return float(a) - origin, float(b) - origin


def _points(found: Snooped) -> list[SurveyedPoint]:
    places, origin = found.network.places, _origin(found)
    count = len(places.names)
    sigma = np.sqrt(np.diag(found.fit.covariance)[: 3 * count]).reshape(count, 3)
    points = places.points(found.fit.unknowns) - np.array([origin, 0.0, 0.0])
    marks = places.marks(found.fit.unknowns)[:count] - np.array([origin, 0.0])
    return [
        SurveyedPoint(
            name=name,
            at_mm=tuple(points[k].tolist()),
            sigma_mm=tuple(sigma[k].tolist()),
            mark_mm=tuple(marks[k].tolist()),
        )
        for k, name in enumerate(places.names)
    ]


def _readings(found: Snooped) -> list[SurveyedReading]:
    """Every reading, as it stands beside the others before any is weighed down.

    What is left over is beside the points of the answer, for which the doubted ones hardly count.
    """
    first, fit = found.first, found.fit
    least = [size if np.isfinite(size) else None for size in first.least_found.tolist()]
    doubted = {row for mistake in found.mistakes for suspect in mistake for row in suspect.rows}
    return [
        SurveyedReading(
            kind=one.kind,
            location=_location(one),
            names=one.names,
            read=one.value,
            left_over=float(fit.residuals[k]),
            redundancy=float(first.redundancy[k]),
            normalized=float(first.normalized[k]),
            least_found=least[k],
            doubted=k in doubted,
        )
        for k, one in enumerate(found.network.observations)
        if one.kind in KEY_OF
    ]
