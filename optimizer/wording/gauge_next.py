"""What to fit next to a wheel, what that promises, and which points the readings moved."""

from optimizer.models.gauge import (
    ConvertedRow,
    Measured,
    MovedCoordinate,
    NextSetting,
    SweptWith,
    WheelGauge,
)
from optimizer.models.questions import MISTYPED, Question
from optimizer.wording.fitting import BRACKETS, stack_in_words
from optimizer.wording.odds import AS_GOOD_AS_SURE, OF_KIND, chance
from optimizer.wording.outer_pivot import CHANGES, height_moved, outer_height
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import over_everything

GUESS = (
    "Points and readings contradict each other: take what follows for a guess, settle which of "
    "them is wrong, and ask again."
)
GUESS_TYPED = (
    "Readings look mistyped: take what follows for a guess, settle the questions about them, and "
    "ask again."
)
NOTHING_FITS = (
    "Nothing that can be built keeps every limit. What stops the settings, `suggest` says of the "
    "corrected case (--write FILE)."
)
NOTHING_SO = "With points that fit them as typed, nothing that can be built keeps every limit."
NOT_MOVED = "The readings leave every point nearly where it was measured."
AFTER_THAT = (
    "With that fitted, to first order, the gauge should show (sweep again before you believe it):"
)
LOWERED = {
    "ball_joint_drop": "lower ball joint",
    "knuckle_plate": "ball joint and rod eye by a plate",
    "crossmember_spacer": "crossmember",
}
BAND_KEPT = {
    True: ["Over the used travel the expected curve stays inside the wanted band."],
    False: ["Over the used travel the expected curve leaves the wanted band."],
    None: [],
}


def figures(measured: Measured, reader: Reader) -> str:
    """Slope, curvature, peak and scatter of a measured curve."""
    where = "the used travel" if measured.all_used_travel_swept else "the part that was swept"
    slope = reader.slope_in_words(measured.toe_slope_deg_per_10mm, measured.toe_slope_in_per_in)
    curvature, scatter = measured.toe_curvature_deg, measured.scatter_deg
    bend = "not known"
    if curvature is not None:
        at = reader.length_with_unit(measured.curvature_at_mm)
        bend = f"{reader.toe_with_unit(curvature, signed=True)} at {at} of travel"
    rows = "the rows are too few to tell how they scatter"
    if scatter is not None:
        rows = f"the rows scatter by {reader.toe_with_unit(scatter)}"
    beyond = ", all beyond what is wanted" if any(measured.wanted_deg) else ""
    return (
        f"Slope {slope}, curvature {bend}, peak "
        f"{reader.toe_with_unit(measured.peak_toe_change_deg)} over {where}{beyond}; {rows}."
    )


def converted_in_words(sweep: SweptWith, rows: list[ConvertedRow], reader: Reader) -> str:
    """Open the table of a sweep's converted rows, with their range from end to end."""
    kept = [row.toe_change_deg for row in rows if not row.left_out]
    left_out = " A row with a * stands apart." if len(kept) < len(rows) else ""
    return (
        f'"{sweep.sweep}" as read, and as toe of one wheel from ride height; end to end it swings '
        f"by {reader.toe_with_unit(max(kept) - min(kept))}.{left_out}"
    )


def moves(moved: list[MovedCoordinate], reader: Reader) -> list[str]:
    """Say which points the readings moved, and which of them to measure again."""
    if not moved:
        return [NOT_MOVED]
    listed = ", ".join(
        f"{place.point} {place.axis} {reader.length(place.by_mm, signed=True)}" for place in moved
    )
    return [
        f"The readings move the points most at: {listed} {reader.subject.units}.",
        *(
            f"Re-measure {place.point} {place.axis}: that is {place.sigmas:.1f} standard "
            "deviations of its tape."
            for place in moved
            if place.remeasure
        ),
    ]


def what_next(wheel: WheelGauge, reader: Reader) -> list[str]:
    """Say what to fit next at a wheel, and where points and readings make that a guess."""
    asked = {one.kind for one in wheel.questions if isinstance(one, Question)}
    guess = [GUESS_TYPED if asked & {*MISTYPED} else GUESS] if wheel.contradictory else []
    if wheel.next is None:
        return [*guess, NOTHING_SO] if guess else [NOTHING_FITS]
    return [*guess, *promise(wheel.next, reader, sure=not wheel.contradictory)]


def promise(setting: NextSetting, reader: Reader, *, sure: bool = True) -> list[str]:
    """Say what to fit or that it is time to stop, what to expect, and what is tightest."""
    best = reader.toe_with_unit(setting.best_of_hardware_deg)
    expect = (
        f"Expected peak {reader.toe_with_unit(setting.peak_toe_change_deg)}, below "
        f"{reader.toe_with_unit(setting.peak_toe_change_95_deg)} with 95 % probability"
    )
    misses, stop = _misses(setting, reader, sure=sure), "Stop" if sure else "For now"
    if setting.stop and misses:
        lines = [
            f"{stop}: nothing on this shelf does better by what a gauge shows, but it misses the "
            f"tolerance. Keep {_what(setting, reader)}. {expect}; {misses}"
        ]
    elif setting.stop:
        lines = [
            f"{stop}{' here and' if sure else ''} keep {_what(setting, reader)}: that is within "
            f"{reader.resolution} of the best that this hardware can do ({best}). {expect}."
        ]
    else:
        now = setting.fitted_now_peak_deg
        over = "" if now is None else f"; what is fitted now peaks at {reader.toe_with_unit(now)}"
        lines = [
            f"Fit {_what(setting, reader)}{_from_now(setting, reader)}. {expect}; the best of this "
            f"hardware is {best}{over}.",
            *([f"Even {misses}"] if misses else []),
            *([f"Stop when the readings stay within {reader.resolution} of that best."] * sure),
        ]
    return [*lines, *BAND_KEPT[setting.within_band], *_tightest(setting, reader)]


def _misses(setting: NextSetting, reader: Reader, *, sure: bool) -> str:
    """Say by how much the best of the hardware misses what is wanted, where it does."""
    if setting.misses_by_deg is None:
        return ""
    then = "; what would meet it, `suggest` looks for on the corrected case (--write FILE)"
    return (
        f"the best that this hardware can do misses the wanted "
        f"{reader.toe_with_unit(setting.tolerance_deg)} by "
        f"{reader.toe_excess(setting.misses_by_deg)}{then if sure else ''}."
    )


def _from_now(setting: NextSetting, reader: Reader) -> str:
    """Say what changes from what is fitted now, by part, where something is."""
    inner = reader.words.inner
    changes = {
        "outer_drop": ("outer pivot", *reversed(CHANGES[reader.subject.stud])),
        "rack_raise": (inner, "higher", "lower"),
        "rack_fore_aft": (inner, "farther forward", "farther rearward"),
        "knuckle_plate": ("knuckle plate", "thicker", "thinner"),
        "crossmember_spacer": ("crossmember", "lower", "higher"),
        "rack_tilt": (f"left end of the {inner}", "higher", "lower"),
        "lift_block": ("lift block", "thicker", "thinner"),
        "shackle_longer": ("shackle", "longer", "shorter"),
        **{part: (name, "higher", "lower") for part, name in BRACKETS.items()},
        "ball_joint_drop": ("lower ball joint", "lower", "higher"),
    }
    nothing_now = all(
        getattr(setting, f"{name}_change_mm") == getattr(setting, f"{name}_mm")
        for name in changes
        if name != "ball_joint_drop"  # an extension that stays says nothing of what is fitted
    )
    if nothing_now and not setting.ball_joint_drop_change_mm:
        return ""
    parts = [
        f"{part} {reader.fitted(abs(change))} {more if change > 0.0 else less}"
        for name, (part, more, less) in changes.items()
        if round(change := getattr(setting, f"{name}_change_mm"), 6)
    ]
    return f"; from what is fitted now: {', '.join(parts) or 'the same heights'}"


def _tightest(setting: NextSetting, reader: Reader) -> list[str]:
    tight = [sentence(one, reader) for one in (setting.tightest_joint, setting.tightest_gap) if one]
    kept = _limits_kept(setting)
    if not tight:
        return kept
    return [
        f"Tightest{over_everything(reader)}: {'; '.join(tight)}. No reading of toe tells tilt or "
        "gaps: these are only as sure as the tape, so sweep the wheel by hand"
        f"{reader.words.at_locks} and look.",
        *kept,
    ]


def _limits_kept(setting: NextSetting) -> list[str]:
    """Say how surely every limit is kept, and which one least; nothing if sure."""
    sure = setting.chances
    if sure is None or not sure.limits or sure.keeps_limits_probability >= AS_GOOD_AS_SURE:
        return []
    least = min(sure.limits, key=lambda one: one.probability)
    return [
        f"Every limit is kept in {chance(sure.keeps_limits_probability)} of the cars that tape, "
        f"readings and build leave; least surely that of {OF_KIND[least.kind]}{least.name}."
    ]


def _what(setting: NextSetting, reader: Reader) -> str:
    """Name what is to be fitted, counted from the standard seat."""
    outer = outer_height(setting.outer_drop_mm, stack_in_words(setting, reader), reader)
    inner, linkage = _inner(setting, reader), _linkage(setting, reader)
    return f"outer {outer}{inner}{linkage}, counted from the standard seat"


def _inner(setting: NextSetting, reader: Reader) -> str:
    """Name where the inner pivot goes, a 0 too where it is elsewhere now; nothing if it stays."""
    up, forward = setting.rack_raise_mm, setting.rack_fore_aft_mm
    parts = [height_moved(up, reader)] if _told(setting, "rack_raise") else []
    if forward:
        way = "forward" if forward > 0.0 else "rearward"
        parts.append(f"{reader.fitted(abs(forward))} {way}")
    return f", {reader.words.inner} {' and '.join(parts)}" if parts else ""


def _leaves(setting: NextSetting, reader: Reader) -> str:
    block, longer = setting.lift_block_mm, setting.shackle_longer_mm
    way = "shorter" if longer < 0.0 else "longer"
    told = f", lift block {reader.fitted(block)}" if _told(setting, "lift_block") else ""
    if _told(setting, "shackle_longer"):
        told += f", shackle {way} by {reader.fitted(abs(longer))}"
    return told


def _linkage(setting: NextSetting, reader: Reader) -> str:
    """Name what is to be fitted to the linkage itself, a 0 too where something else is fitted."""
    if reader.subject.layout == "leaf-axle":
        return _leaves(setting, reader)
    left_end = f"left end of the {reader.words.inner} against the right one"
    raised = BRACKETS | {"rack_tilt": left_end}
    heights = {
        **{part: (name, -getattr(setting, f"{part}_mm"), "drop") for part, name in LOWERED.items()},
        **{part: (name, getattr(setting, f"{part}_mm"), "raise") for part, name in raised.items()},
    }
    return "".join(
        f", {name} {height_moved(height, reader, still)}"
        for part, (name, height, still) in heights.items()
        if _told(setting, part)
    )


def _told(setting: NextSetting, part: str) -> bool:
    return bool(getattr(setting, f"{part}_mm")) or _changes(setting, part)


def _changes(setting: NextSetting, part: str) -> bool:
    return bool(getattr(setting, f"{part}_change_mm"))
