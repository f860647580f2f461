"""What is said on pages beside their drawings: captions, axes, and drawings in words."""

from collections.abc import Sequence
from typing import Literal

from optimizer.models.pictures import BarKind, LimitMap, TriedSetting
from optimizer.models.setting import Fitted
from optimizer.units import Side, short_length
from optimizer.wording.fitting import what_to_fit
from optimizer.wording.headings import TOE_CURVES
from optimizer.wording.outer_pivot import hangs_below
from optimizer.wording.reader import Reader

ViewKind = Literal["front", "side", "plan"]

VIEWS: dict[ViewKind, str] = {
    "front": "Front view, from ahead of the car",
    "side": "Side view, from outside of the {side} wheel",
    "plan": "Plan view, from above, nose of the car down",
}
PART_NAMES: dict[BarKind, str] = {
    "rod": "rod",
    "arm": "arm",
    "link": "link",
    "strut": "strut",
    "spring": "leaf spring",
    "shackle": "shackle",
    "upright": "upright",
    "steering-arm": "steering arm",
    "axle": "axle",
    "cross-rod": "cross rod",
    "stack": "stack",
}
TRY = {
    "drop": "outer {way}",
    "raise": "raise {inner}",
    "mark": "back to number 1",
    "how": "Every stop is a setting that can be built, solved exactly. Drag, or use arrow keys.",
}
TRIED = {"none": "This pair can't be built.", "fits": "fits", "not": "does not fit"}
TAPE_BAND = "where nine cars in ten lie that the tape may have meant"
READ_BAND = "where nine cars in ten lie with the next stack, after tape and readings"
READ = {"read": "read", "next": "expected with the next stack"}
ASSUMED = (
    "Rubber, chassis and steering parts are taken as rigid; play and compliance are in no curve.",
    "Gaps and tilts are judged against what the case lists, and nothing else.",
    "No load, limit or strength is invented; where the case states none, nothing is judged.",
)


def across(reader: Reader) -> str:
    """Title of the axis of toe."""
    return f"toe-out  \u2190  toe change, {reader.toe_unit}  \u2192  toe-in"


def upward(reader: Reader) -> str:
    """Title of the axis of wheel travel."""
    return f"droop \u2190 travel, {reader.subject.units} \u2192 bump"


def rack_across(reader: Reader) -> str:
    """Title of the axis of rack travel."""
    return f"right  \u2190  {reader.words.inner} travel, {reader.subject.units}  \u2192  left"


def curve_name(rank: int | None, fitted: Fitted, reader: Reader) -> str:
    """Name a curve by its place in the ranking and what is fitted."""
    return "now" if rank is None else f"number {rank}: {what_to_fit(fitted, reader)}"


def alt_of_curves(curves: Sequence[tuple[str, float | None]], reader: Reader) -> str:
    """Say what a drawing of toe curves shows, from their names and peaks."""
    told = [
        f"{name} peaks at {reader.toe_with_unit(peak)}" for name, peak in curves if peak is not None
    ]
    return f"{TOE_CURVES}, travel upward, toe-in to the right: {'; '.join(told)}."


def pose_name(travel_mm: float) -> str:
    """Name a height at which the linkage is drawn."""
    if travel_mm == 0.0:
        return "ride"
    return "bump" if travel_mm > 0.0 else "droop"


def alt_of_view(kind: ViewKind, side: Side, reader: Reader) -> str:
    """Say what a view of the linkage shows."""
    return (
        f"{VIEWS[kind].format(side=side)}: the {side} wheel's linkage to scale, with "
        f"{reader.words.short_rod} and pivots, at ride height, full bump and full droop."
    )


def map_caption(of: LimitMap, reader: Reader) -> str:
    """Say what a map is of, its limit, and whether that is met anywhere."""
    values = [x for row in of.values for x in row if x is not None]
    if of.kind == "tilt":
        worst, limit = f"{max(values):.1f} deg", f"limit {of.limit:.1f} deg"
        return f"Tilt of the {of.name}, deg: at most {worst} at these places; {limit}"
    least, wanted = (short_length(x, reader.subject.units) for x in (min(values), of.limit))
    units = reader.subject.units
    return f"Gap, {of.name}, {units}: at least {least} at these places; wanted {wanted}"


def tints_in_words(spare_deg: Sequence[float], spare: Sequence[float], reader: Reader) -> str:
    """Say at how much left to the limit the tints of a map change, `spare` in the case's units."""
    angles, lengths = (_falling(steps) for steps in (spare_deg, spare))
    units = reader.subject.units
    told = f"{angles} deg or" if angles == lengths else f"{angles} deg, or {lengths}"
    return f"the darker, the less is left: {told} {units} to the limit"


def _falling(steps: Sequence[float]) -> str:
    last, *others = (f"{step:g}" for step in steps)
    return f"{', '.join(others[::-1])} and {last}"


def alt_of_map(of: LimitMap, reader: Reader) -> str:
    """Say what a map shows."""
    return f"{map_caption(of, reader)}. Wheel travel upward, {reader.words.inner} travel across."


def stack_caption(fitted: Fitted, reader: Reader) -> str:
    """Say what is stacked, and on which side of the arm."""
    side = "under" if hangs_below(fitted.outer_drop_mm, reader) else "on top of"
    pieces = reader.pieces(fitted.stack_mm) if len(fitted.stack_mm) > 1 else ""
    height = reader.fitted(abs(fitted.outer_drop_mm))
    made = f" ({pieces})" if pieces else ""
    return f"Stack of {height}{made} {side} the steering arm, {fitted.side} wheel"


def alt_of_stack(fitted: Fitted, reader: Reader) -> str:
    """Say what the drawing of a stack shows."""
    return f"{stack_caption(fitted, reader)}, to scale along the stud: arm, pieces, joint."


def tried_in_words(one: TriedSetting, reader: Reader) -> str:
    """Say what a setting that is tried on a page would do."""
    if one.peak_toe_change_deg is None:
        return "The linkage can't follow the wheel with this setting."
    units = reader.subject.units
    told = [f"peak {reader.toe_with_unit(one.peak_toe_change_deg)}"]
    if one.tilt_margin_deg is not None:
        told.append(f"tilt left {one.tilt_margin_deg:.1f} deg")
    if one.clearance_mm is not None:
        told.append(f"smallest gap {short_length(one.clearance_mm, units)}")
    return f"{', '.join(told)}: {TRIED['fits' if one.fits else 'not']}"


def subject_in_words(reader: Reader) -> str:
    """Name the layout and the wheels of an answer."""
    subject = reader.subject
    of = "both wheels" if subject.both_wheels else f"{subject.sides[0]} {subject.words.wheel}"
    return f"{subject.layout}, {of}"


def doubts_counted(count: int) -> str:
    """Say how many doubts there are."""
    return f"{count} {'thing looks' if count == 1 else 'things look'} odd in this case; see below."
