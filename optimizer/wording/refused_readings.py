"""Why a sweep can't be used, with what to look at next."""

from typing import Literal

from optimizer.errors import PivotwrightError
from optimizer.models.readings import Readings
from optimizer.wording.templates import Length

Reason = Literal[
    "no-side",
    "fitted-unsaid",
    "same-rows",
    "other-end",
    "between-not-swept",
    "far-from-ride-height",
    "beyond-gauge",
    "half-a-turn",
    "no-such-part",
    "other-brackets",
    "other-extension",
    "nothing-used",
    "out-of-reach",
    "not-steered",
    "unreached-beside",
    "both-measured",
    "both-on-a-beam",
]
REFUSED: dict[Reason, str] = {
    "no-side": 'side must be given, "left" or "right"; the case measures both wheels',
    "fitted-unsaid": "{keys} must be given beside a case: what was fitted while measuring, counted "
    "from the standard seat (0.0 for nothing)",
    "same-rows": 'holds the same rows as "{other}"; each sweep counts once',
    "other-end": "is of the {side} wheel, but the case measures the {measured} one; on a beam axle "
    "the two steer together, not as mirror images of each other: sweep the wheel of the case",
    "both-on-a-beam": "{key} reads the toe of both wheels together, which hardly changes on a beam "
    "axle: bump steers both wheels the same way; sweep the {side} wheel by itself, with two dials, "
    "a laser or an angle gauge",
    "between-not-swept": "the heights of [between] lie outside those that were read; they count as "
    "the rows count heights",
    "far-from-ride-height": "the reading nearest to ride height is at travel {nearest}, too far to "
    "tell toe there; is at_ride_height right, or are these heights of the hub, which travel_is "
    "says?",
    "beyond-gauge": "readings[{row}] shows a toe distance longer than the gauge itself; are units "
    "and spacing right?",
    "half-a-turn": "readings[{row}] shows a toe change of more than half a turn; are angle_unit "
    "and its sign right?",
    "no-such-part": "{key} must be left out; the case's layout, {layout}, has no such part",
    "other-brackets": "frame_bracket_raise {frame} with axle_bracket_raise {axle} is none of what "
    "the case's [lateral_link] lists; add what was fitted there",
    "other-extension": "{key} must be the same in all sweeps; each takes an [alignment] of its own",
    "nothing-used": "no reading lies in the travel that the car uses; are the sign of travel and "
    "at_ride_height right?",
    "not-steered": "{key} must be left out: a rear wheel is not steered",
    "unreached-beside": "{key}: the points of the case reach {what}, so it tells nothing; {look}",
    "both-measured": "turn_toe_out must be left out: the case measures both wheels; say steered of "
    "each",
    "out-of-reach": "with what was fitted, the points of the case reach none of the heights that "
    "were read, or hardly one; is the sweep of this car, are units, at_ride_height, outer_drop and "
    "ball_joint_drop right?",
}
# Of each reading beside toe: what the points may not reach, and what to look at then.
HEIGHTS = ("none of its heights, or hardly one", "does it count heights as the sweep's rows do?")
RACK = ("none of its rack travels, or hardly one", "are those, units and rack_per_turn right?")
BESIDE = {
    "rod_turned": ("no ride height with the rod so turned", "is that length right?"),
    "sideways": HEIGHTS,
    "camber": HEIGHTS,
    "steered": RACK,
    "turn_toe_out": RACK,
    "caster_sweep": ("no place of a wheel that is steered so far", "is steer_deg right?"),
}


def refused(readings: Readings, reason: Reason, **found: str | float) -> PivotwrightError:
    """Say why a sweep can't be used; lengths, which are floats, in the units of its file. [mm]."""
    told = {
        name: Length(value, readings.units) if isinstance(value, float) else value
        for name, value in found.items()
    }
    if reason == "unreached-beside":
        told["what"], told["look"] = BESIDE[str(found["key"]).split("[")[0]]
    return PivotwrightError(f"{readings.name}: {REFUSED[reason].format(**told)}")
