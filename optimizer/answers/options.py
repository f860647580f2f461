"""Options described in full: what is fitted at each wheel, its figures, margins and reasons."""

from collections.abc import Sequence

import numpy as np

from optimizer.car.settings import Rows as Places
from optimizer.limits.described import described_settings
from optimizer.models.setting import Fitted, LinkageFitted, Option, WheelSetting
from optimizer.options.candidates import Candidates
from optimizer.options.dimensions import Option as Rows
from optimizer.options.dimensions import OptionSpace
from optimizer.options.hardware import Hardware

# What both wheels of an axle that steers share.
SHARED = ("rack_raise_mm", "rack_fore_aft_mm", *LinkageFitted.model_fields)


def described_options(space: OptionSpace, options: Sequence[Rows]) -> list[Option]:
    """Describe options; the reasons of each are those of all wheels."""
    of_wheels = [
        _described(wheel, np.array([option.rows[k] for option in options]))
        for k, wheel in enumerate(space.wheels)
    ]
    return [
        option_of_wheels(space, space.hardware_of(option), wheels)
        for option, wheels in zip(options, zip(*of_wheels, strict=True), strict=True)
    ]


def option_of_wheels(
    space: OptionSpace, hardware: Hardware, wheels: Sequence[WheelSetting]
) -> Option:
    """Describe an option by its wheels, with one alternative of a space's hardware."""
    first, kit = wheels[0], hardware.kit
    shared = space.shares_rack or len(wheels) == 1
    return Option(
        kit=None if kit is None else kit.name,
        kit_idle=kit is not None and kit.is_idle(wheel.outer_drop_mm for wheel in wheels),
        lowered_by_mm=space.wheels[0].evaluator.case.ride.lowered_by,
        **{name: getattr(first, name) if shared else None for name in SHARED},
        peak_toe_change_deg=max(wheel.peak_toe_change_deg for wheel in wheels),
        fits=all(wheel.fits for wheel in wheels),
        meets_tolerance=all(wheel.meets_tolerance for wheel in wheels),
        reasons=[reason for wheel in wheels for reason in wheel.reasons],
        wheels=list(wheels),
    )


def fitted_at(space: OptionSpace, option: Rows) -> list[Fitted]:
    """What an option fits at each wheel."""
    return [wheel.fitted(row) for wheel, row in zip(space.wheels, option.rows, strict=True)]


def _described(wheel: Candidates, rows: Places) -> list[WheelSetting]:
    described: dict[int, WheelSetting] = {}
    for evaluator, places in wheel.by_limits(rows):
        for some in wheel.told_alike(rows[places]):
            found = described_settings(
                evaluator,
                wheel.settings.rows(some),
                wheel.margins(some),
                [wheel.pieces(row) for row in some.tolist()],
            )
            described |= dict(zip(some.tolist(), found, strict=True))
    if not wheel.evaluator.case.words.steers:
        return [described[row] for row in rows.tolist()]
    faster = (100.0 * wheel.rate_change[rows]).tolist()
    return [
        described[row].model_copy(update={"steer_rate_change_percent": change})
        for row, change in zip(rows.tolist(), faster, strict=True)
    ]
