"""What to do on the car, in order: each step once, for every wheel."""

from collections.abc import Callable, Iterator
from typing import Literal

from optimizer.models.setting import Fitted, Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.wording.fitting import of_kit, toe_reset_in_words, what_to_fit
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

NextStep = Literal["fit", "align", "reset-toe", "sweep", "if-not"]
Sentences = Iterator[str]

RECORD = "Record the ride height first (hub to arch, driver's weight in)."
IF_NOT = (
    "If a reading differs by more than the points can explain, measure the points again before "
    "changing the stack."
)


def next_steps(first: Ranked, result: SuggestResult, reader: Reader) -> dict[NextStep, str]:
    """Say what to do with number 1, by kind of step; none that the car does not ask for."""
    told = {step: " ".join(say(first, result, reader)) for step, say in STEPS.items()}
    return {step: text for step, text in told.items() if text}


def _fit(first: Ranked, result: SuggestResult, reader: Reader) -> Sentences:
    on_both = " on both wheels" if reader.subject.both_wheels else ""
    kit, idle = of_kit(first.kit, on_both, idle=first.kit_idle)
    pairs = zip(first.wheels, result.as_is.wheels, strict=True)
    wheels = "; ".join(_fit_wheel(wheel, now, first, reader) for wheel, now in pairs)
    yield f"Fit: {kit}{wheels}{idle}."
    yield RECORD
    if reader.subject.both_wheels and first.rack_raise_mm:
        yield f"There is one {reader.words.inner}: what raises it goes under both ends."


def _fit_wheel(wheel: Fitted, now: Fitted, first: Ranked, reader: Reader) -> str:
    built = what_to_fit(wheel, reader, as_is=first.kit is None and _of(wheel) == _of(now))
    return f"{reader.on_side(wheel.side)}{built}"


def _of(fitted: Fitted) -> dict[str, object]:
    return fitted.model_dump(include=set(Fitted.model_fields))


def alignment_moves(result: SuggestResult, reader: Reader) -> str:
    """What the wanted alignment moves, of each wheel; empty where none is wanted."""
    return "; ".join(
        f"{reader.on_side(wheel.side)}{sentence(wheel.alignment.what_to_move, reader)}"
        for wheel in result.wheels
        if wheel.alignment is not None
    )


def _align(_: Ranked, result: SuggestResult, reader: Reader) -> Sentences:
    if moves := alignment_moves(result, reader):
        yield f"Align at ride height: {moves}."


def toe_resets(first: Ranked, result: SuggestResult, reader: Reader) -> Sentences:
    """Say what the toe reset does to the rods, and what to set on a car that is yet to settle."""
    changes = [(wheel.side, wheel.tie_rod_length_change_mm) for wheel in first.wheels]
    yield toe_reset_in_words(changes, reader)
    yield from (sentence(x.settling, reader) for x in result.wheels if x.settling is not None)


def _sweep(_: Ranked, __: SuggestResult, reader: Reader) -> Sentences:
    yield (
        f"{reader.words.sweeping}, {reader.words.locked}stands under the body: sweep the wheel "
        "with a gauge, up and down, and compare with the readings below."
    )


def _if_not(*_: object) -> Sentences:
    yield IF_NOT


STEPS: dict[NextStep, Callable[[Ranked, SuggestResult, Reader], Sentences]] = {
    "fit": _fit,
    "align": _align,
    "reset-toe": toe_resets,
    "sweep": _sweep,
    "if-not": _if_not,
}
