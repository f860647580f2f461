"""What a measuring sheet says: what is fitted, how to prepare the car, how to set up the gauge."""

from optimizer.models.sheet import (
    AlignmentToSet,
    GaugeKind,
    NotBuilt,
    RideHeight,
    SetUp,
    Sheet,
    Step,
    StepKind,
    ToFit,
    WheelSheet,
)
from optimizer.units import length_text
from optimizer.wording.fitting import (
    moved,
    moved_parts,
    toe_reset_in_words,
    what_to_fit,
)
from optimizer.wording.outer_pivot import outer_height
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.slip import SLIP_OR_CURVE

# Common practice, no source.
STEPS: dict[StepKind, str] = {
    "push-pull": "First, on its wheels: {words.locked}push and pull the wheel by hand, fore and "
    f"aft at its rim, and see how far toe moves: ______ (play). {SLIP_OR_CURVE}",
    "tires": "Set tire pressures, ride height, {words.aligned} first; a change of any of them "
    "later means sweeping again.",
    "worn": "Put right worn joints, {words.also_worn}bearings and bushings; play makes two curves "
    "of one.",
    "record": "With driver's weight in, record the ride height as hub to arch: ______ left ______ "
    "right.",
    "stands": "{words.stands}",
    "spring": "{words.freed}",
    "lock": "{words.lock}",
    "gauge": "Set the gauge's plate square to the axle and level at ride height, and zero the "
    "gauge there.",
    "sweep": "Sweep from full droop to full bump and back; write down every height both ways.",
    "turn-rod": "{words.reset} at ride height by the {words.rod}, and write that down too: ______ "
    "turns of pitch ______ , longer / shorter; the gauge before ______ , after ______ (rod_turned: "
    "it tells what a millimeter is worth).",
    "sideways": "Where `gauge` asks for it: one dial square to the car at the height of the "
    "wheel's center, at the same heights: ______ (sideways; of two dials the mean tells it).",
    "camber": "Where `gauge` asks for it: camber at the same heights, top outboard positive, the "
    "gauge not touched in between: ______ (camber).",
    "plates": "Where `gauge` asks for it: plates under the wheels at {words.inner} travel ______ : "
    "this wheel ______ , the other one ______ (steered, turn_toe_out).",
    "caster-sweep": "Where `gauge` asks for it: at ride height camber with the front of the wheel "
    "steered ______ deg outboard: ______ , as far inboard: ______ (caster_sweep).",
    "three-with-stack": "In the same visit, fit the stack that `gauge` asks for, "
    "{words.and_reset}, and read both ends of the travel and ride height again: ______ ______ "
    "______ (a readings file of its own).",
    "stop": "Stop where `gauge` keeps what is fitted, or says that nothing more is worth reading.",
}
SET_UP: dict[GaugeKind, str] = {
    "two-dial": "Spacing of the dials: ________ ; a reading grows as the plate moves ________ "
    "board.",
    "dial-and-roller": "From dial to roller: ________ ; the dial stands at the front / rear; "
    "its reading grows as the plate moves ________ board.",
    "laser": "From the axle to the target ahead: ________ , behind: ________ ; a reading grows "
    "________ board.",
    "wall": "From the wheel's center to the wall: ________ ; the beam along the axle, the wall "
    "square to it; a reading grows forward / rearward.",
    "mirror": "From the mirror to the target: ________ ; a reading grows with toe-in / toe-out.",
    "string": "Between the two places on the rim: ________ ; string outboard / inboard of it.",
    "toe-plates": "Between the two tape slots of a plate: ________ .",
    "angle": "Unit: deg / min; of this wheel / of both wheels.",
}


@sentence.register
def _fit(fit: ToFit, reader: Reader) -> str:
    """Without capital and full stop."""
    fitted, units = fit.fitted, reader.subject.units
    if fit.kind == "asked":
        drop, up = fitted.outer_drop_mm, fitted.rack_raise_mm
        outer = _stack(drop, fitted.stack_mm, reader)
        way = "drop" if up < 0.0 else "raise"
        inner = f"{reader.words.inner} {way} {length_text(abs(up), units)}"
        others = moved_parts(fitted.model_copy(update={"rack_raise_mm": 0.0}), reader)
        parts = [outer, inner, *(f"{one.part} {moved(one, reader.fitted)}" for one in others)]
        return f"outer {', '.join(parts)}"
    built = what_to_fit(fitted, reader, as_is=fit.kind == "as-is")
    return built if fit.kit is None else f"{fit.kit}: {built}"


@sentence.register
def _not_built(missing: NotBuilt, reader: Reader) -> str:
    """Without capital and full stop."""
    nearest = "the standard seat"
    if missing.nearest_mm:
        nearest = f"outer {_stack(missing.nearest_mm, missing.stack_mm, reader)}"
    return f"the hardware of this case builds no stack of that height; the nearest is {nearest}"


def _stack(drop_mm: float, pieces_mm: list[float], reader: Reader) -> str:
    """Name a stack by its height, and by its pieces where there are several."""
    outer = outer_height(drop_mm, length_text(abs(drop_mm), reader.subject.units), reader)
    return f"{outer} ({reader.pieces(pieces_mm)})" if len(pieces_mm) > 1 else outer


@sentence.register
def _ride_height(height: RideHeight, reader: Reader) -> str:
    away = length_text(abs(height.lowered_by_mm), reader.subject.units)
    way = "below" if height.lowered_by_mm >= 0.0 else "above"
    return f"Ride height {away} {way} the one at which the car was measured."


@sentence.register
def _align(align: AlignmentToSet, reader: Reader) -> str:
    caster = f", caster {align.caster_deg:.2f} deg" if reader.words.steers else ""
    return (
        f"Alignment at that height: camber {align.camber_deg:.2f} deg{caster} "
        f"({sentence(align.move, reader)} from where measured)."
    )


@sentence.register
def _step(step: Step, reader: Reader) -> str:
    return STEPS[step.kind].format(words=reader.words)


@sentence.register
def _set_up(set_up: SetUp, _: Reader) -> str:
    return SET_UP[set_up.kind]


def preparation(sheet: Sheet, wheel: WheelSheet, reader: Reader) -> list[str]:
    """Say what to do before the sweep of a wheel, in order."""
    height, *steps = (sentence(fact, reader) for fact in sheet.prepare)
    align = [] if wheel.align is None else [sentence(wheel.align, reader)]
    return [height, *align, *steps]


def build(wheel: WheelSheet, reader: Reader) -> list[str]:
    """Say what to build at a wheel, what it breaks, and what the toe reset makes of the rod."""
    fit, of_one = sentence(wheel.fit, reader), reader.of_one_wheel(wheel.side)
    reset = toe_reset_in_words([(wheel.side, wheel.tie_rod_length_change_mm)], reader)
    missing = "" if wheel.not_built is None else sentence(wheel.not_built, reader)
    unbuilt = [f"{missing[0].upper()}{missing[1:]}."] if missing else []
    stopped = [f"With that, {sentence(stop, reader)}." for stop in wheel.stops]
    settle = [] if wheel.settling is None else [sentence(wheel.settling, of_one)]
    return [f"{fit[0].upper()}{fit[1:]}.", *unbuilt, *stopped, reset, *settle]
