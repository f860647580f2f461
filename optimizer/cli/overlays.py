"""`--with`: other settings, or other cars, whose curves are laid over the one asked for."""

import argparse
from typing import TYPE_CHECKING

from optimizer.cli.lengths import in_millimeters, length
from optimizer.errors import PivotwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimizer.models.curve import CurveRequest, OtherCurve
    from optimizer.models.kits import Kit
    from optimizer.models.vehicle import Vehicle

KEYS = {
    "outer drop": "outer_drop",
    "drop": "outer_drop",
    "right drop": "right_outer_drop",
    "rack raise": "rack_raise",
    "rack": "rack_raise",
    "raise": "rack_raise",
    "rack fore-aft": "rack_fore_aft",
    "fore-aft": "rack_fore_aft",
    "ball joint drop": "ball_joint_drop",
    "frame bracket": "frame_bracket_raise",
    "axle bracket": "axle_bracket_raise",
    "knuckle plate": "knuckle_plate",
    "plate": "knuckle_plate",
    "crossmember spacer": "crossmember_spacer",
    "spacer": "crossmember_spacer",
    "lift block": "lift_block",
    "block": "lift_block",
    "shackle longer": "shackle_longer",
    "shackle": "shackle_longer",
    "rack tilt": "rack_tilt",
    "tilt": "rack_tilt",
    "lowered by": "lowered_by",
    "lowered": "lowered_by",
    "rack travel": "rack_travel",
}
FORM = (
    "a case file, a kit of --kits, or what differs from the setting asked for, such as "
    '"drop 12, rack 3"'
)


def add_with(parser: argparse.ArgumentParser) -> None:
    """Take --with, as often as it is said."""
    parser.add_argument(
        "--with",
        dest="others",
        action="append",
        default=[],
        metavar="WHAT",
        help=f"lay another curve over it: {FORM}",
    )


def laid_over(
    texts: list[str], vehicle: "Vehicle", asked: "CurveRequest", kits: "Sequence[Kit]" = ()
) -> "list[OtherCurve]":
    """Follow every other car, or this one with every other setting or kit, over the same travel.

    A kit is set to the best that it can be set to.

    Raises
    ------
    PivotwrightError
        A text is neither a setting nor a kit that fits nor a case file that can be read.
    """
    from optimizer.answers.curve import curve
    from optimizer.files.case_file import read_car
    from optimizer.models.curve import OtherCurve

    ride = vehicle.case.ride
    ends = {"bump": ride.bump, "droop": ride.droop}
    over = {key: ends[key] if getattr(asked, key) is None else getattr(asked, key) for key in ends}
    base = asked.model_copy(update=over)
    by_name, found = {kit.name: kit for kit in kits}, []
    for text in texts:
        if text.endswith(".toml"):
            found.append(OtherCurve(name=text, curve=curve(read_car(text), base)))
            continue
        kit = by_name.get(text)
        other = _setting(text, vehicle) if kit is None else _best_of(kit, vehicle)
        found.append(OtherCurve(name=text, curve=curve(vehicle, base.model_copy(update=other))))
    return found


def _best_of(kit: "Kit", vehicle: "Vehicle") -> dict[str, float]:
    """The setting that `suggest` puts first with a kit. [mm]."""
    from optimizer.answers.suggest import suggest
    from optimizer.car.linkage import linkage_lengths

    first = suggest(vehicle, [kit]).first
    if first is None:
        raise PivotwrightError(
            f"--with {kit.name}: nothing that it can be set to keeps every limit"
        )
    if first.rack_raise_mm is None:
        raise PivotwrightError(
            f"--with {kit.name}: its best is set at each wheel by itself, and one curve sets "
            "both alike; take a case of one wheel"
        )
    wheel = first.wheels[0]
    found = {
        "outer_drop": wheel.outer_drop_mm,
        "right_outer_drop": first.wheels[-1].outer_drop_mm,
        "rack_raise": wheel.rack_raise_mm,
        "rack_fore_aft": wheel.rack_fore_aft_mm,
    }
    return found | linkage_lengths(vehicle.case, wheel)


def _setting(text: str, vehicle: "Vehicle") -> dict[str, float]:
    """What a text says of a setting. [mm]."""
    typed = argparse.Namespace()
    for part in text.split(","):
        words = " ".join(part.split())
        name = next((key for key in KEYS if words.lower().startswith(f"{key} ")), None)
        if name is None:
            raise PivotwrightError(
                f"--with {text}: {words or 'nothing'} is not a length of a part; "
                f"give {FORM}, of {', '.join(KEYS)}"
            )
        try:
            setattr(typed, KEYS[name], length(words[len(name) :]))
        except argparse.ArgumentTypeError as fault:
            raise PivotwrightError(f"--with {text}: {name} {fault}") from None
    try:
        in_millimeters(typed, vehicle.case.units)
    except PivotwrightError as fault:
        raise PivotwrightError(f"--with {text}: {str(fault).removeprefix('--')}") from None
    if hasattr(typed, "right_outer_drop") and not vehicle.both_wheels:
        raise PivotwrightError(f"--with {text}: the case measures one wheel; its stack is drop")
    return vars(typed)
