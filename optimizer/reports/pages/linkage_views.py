"""The linkage to scale from ahead, from the side and from above, at three wheel travels."""

from collections.abc import Callable, Iterator, Sequence
from math import hypot

from msgspec import Struct

from optimizer.models.pictures import Bar, LinkagePose, LinkagePoses
from optimizer.models.quantities import Triple
from optimizer.reports.pages.parts import Figure, Table
from optimizer.reports.pages.scale import round_step
from optimizer.units import MM_PER, Side
from optimizer.wording.pages import PART_NAMES, VIEWS, ViewKind, alt_of_view, pose_name
from optimizer.wording.reader import Reader

WIDTH, MOST_HIGH, EDGE = 360.0, 330.0, 14.0
FOOT = 26.0  # for the scale, below the drawing
REACH = 0.35  # of its length, by which the line of rod or arm is drawn beyond the chassis end

Flat = tuple[float, float]
Projection = Callable[[Triple], Flat]


class Stroke(Struct, frozen=True):
    """A straight line of a drawing; `style` says of what and at which height."""

    style: str
    x1: float
    y1: float
    x2: float
    y2: float


class LinkageDrawing(Struct, frozen=True):
    """One view; `pivots` are the outer pivot, then the inner one, at ride height."""

    strokes: list[Stroke]
    pivots: list[Flat]
    wheel: tuple[float, float, float] | None
    bar: float
    bar_name: str
    width: float
    height: float


def linkage_figures(name: str, linkage: LinkagePoses, side: Side, reader: Reader) -> list[Figure]:
    """Draw all three views of a wheel's linkage."""
    return [
        Figure(
            "linkage.svg",
            f"{name}-{kind}",
            VIEWS[kind].format(side=side),
            alt_of_view(kind, side, reader),
            _view(linkage, kind, reader, flat),
            _ends(linkage, reader) if kind == "front" else None,
        )
        for kind, flat in _projections(side).items()
    ]


def _projections(side: Side) -> dict[ViewKind, Projection]:
    """From ahead the car's left is on the right; from outside of the wheel; from above, nose down.

    So a wheel in plan view stands right below itself in front view.
    """
    along = -1.0 if side == "left" else 1.0
    return {
        "front": lambda p: (p[1], -p[2]),
        "side": lambda p: (along * p[0], -p[2]),
        "plan": lambda p: (p[1], p[0]),
    }


def _view(
    linkage: LinkagePoses, kind: ViewKind, reader: Reader, flat: Projection
) -> LinkageDrawing:
    poses = [(pose_name(pose.travel_mm), pose) for pose in linkage.poses]
    home = next((pose for _, pose in poses if pose.travel_mm == 0.0), poses[0][1])
    lines = [
        (f"{bar.kind} {name}", flat(bar.start_mm), flat(bar.end_mm))
        for name, pose in poses
        for bar in pose.bars
    ]
    lines += [(f"beyond {bar.kind}", *_beyond(bar, flat)) for bar in home.bars if _has_line(bar)]
    radius, center = linkage.tire_radius_mm, flat(home.wheel_center_mm)
    if kind != "side":
        lines.append(("wheel-plane", *_wheel_plane(home, kind, radius)))
    corners = [end for _, *ends in lines for end in ends]
    if kind == "side":
        corners += [
            (center[0] + dx, center[1] + dy) for dx in (-radius, radius) for dy in (-radius, radius)
        ]
    place = _Placed.around(corners)
    rod = next(bar for bar in home.bars if bar.kind == "rod")
    units = reader.subject.units
    bar = round_step(0.12 * WIDTH / place.rate / MM_PER[units])
    return LinkageDrawing(
        strokes=[Stroke(style, *place(start), *place(end)) for style, start, end in lines],
        pivots=[place(flat(rod.end_mm)), place(flat(rod.start_mm))],
        wheel=(*place(center), round(radius * place.rate, 1)) if kind == "side" else None,
        bar=round(bar * MM_PER[units] * place.rate, 1),
        bar_name=f"{bar:g} {units}",
        width=WIDTH,
        height=round(place.height + FOOT, 1),
    )


def _has_line(bar: Bar) -> bool:
    return bar.kind in ("rod", "arm")


def _beyond(bar: Bar, flat: Projection) -> tuple[Flat, Flat]:
    """The line of a bar beyond its end at the chassis."""
    (x0, y0), (x1, y1) = flat(bar.start_mm), flat(bar.end_mm)
    return (x0, y0), (x0 - REACH * (x1 - x0), y0 - REACH * (y1 - y0))


def _wheel_plane(pose: LinkagePose, kind: ViewKind, radius: float) -> tuple[Flat, Flat]:
    """The wheel's middle plane, seen on edge, as long as the tire is high."""
    x, y, z = pose.wheel_center_mm
    sx, sy, sz = pose.spin
    (h, v), (a, b) = ((y, -z), (-sz, -sy)) if kind == "front" else ((y, x), (-sx, sy))
    long = radius / (hypot(a, b) or 1.0)
    return (h - a * long, v - b * long), (h + a * long, v + b * long)


class _Placed(Struct, frozen=True):
    """Places points of the car, seen flat, on the drawing; all ways to one scale."""

    rate: float
    left: float
    top: float
    across: float
    height: float

    @staticmethod
    def around(points: Sequence[Flat]) -> "_Placed":
        xs, ys = [x for x, _ in points], [y for _, y in points]
        wide, high = max(xs) - min(xs), max(ys) - min(ys)
        rate = min((WIDTH - 2 * EDGE) / wide, (MOST_HIGH - 2 * EDGE) / max(high, 1.0))
        spare = 0.5 * (WIDTH - rate * wide)
        return _Placed(rate, min(xs), min(ys), spare, rate * high + 2 * EDGE)

    def __call__(self, point: Flat) -> Flat:
        x = self.across + (point[0] - self.left) * self.rate
        return round(x, 1), round(EDGE + (point[1] - self.top) * self.rate, 1)


def _ends(linkage: LinkagePoses, reader: Reader) -> Table:
    """Where both ends of each part are."""
    return Table(
        titles=["part", "at", "from x", "y", "z", "to x", "y", f"z, {reader.subject.units}"],
        rows=list(_rows(linkage, reader)),
        words=frozenset({0, 1}),
    )


def _rows(linkage: LinkagePoses, reader: Reader) -> Iterator[list[str]]:
    for pose in linkage.poses:
        for bar in pose.bars:
            ends = [reader.length(x, signed=True) for x in (*bar.start_mm, *bar.end_mm)]
            yield [PART_NAMES[bar.kind], pose_name(pose.travel_mm), *ends]
