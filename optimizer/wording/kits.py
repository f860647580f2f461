"""Sentences about kits and what to buy."""

from collections.abc import Sequence

from optimizer.models.setting import Fitted
from optimizer.models.suggest import KitFacts, NextShim, SuggestResult
from optimizer.units import MM_PER
from optimizer.wording.fitting import moved, moved_parts
from optimizer.wording.reader import Reader

STUDS = {
    "tapered": "tapered stud in the original taper",
    "straight-bolt": "straight bolt: needs the taper drilled out, which can't be undone",
}


def kits_in_words(
    kits: Sequence[KitFacts], currency: str | None, *, numbered: bool = False
) -> list[str]:
    """Say of each kit how it is held, what it costs and weighs, as far as that is stated.

    With its number, where that stands for it.
    """
    told = [f"{kit.name}: {_facts(kit, currency)}." for kit in kits]
    return [f"Kit {k}, {text}" for k, text in enumerate(told, start=1)] if numbered else told


def _facts(kit: KitFacts, currency: str | None) -> str:
    said = [] if kit.seat is None else [STUDS[kit.seat]]
    if kit.price is not None:
        said.append(f"{kit.price:g}{'' if currency is None else f' {currency}'} a wheel")
    if kit.mass_g is not None:
        said.append(f"{kit.mass_g:g} g")
    return ", ".join(said)


def shim_in_words(result: SuggestResult, reader: Reader) -> list[str]:
    """Say what one shim more for each wheel would bring, if any, and with what else fitted."""
    shim = result.next_shim
    if shim is None:
        return []
    then = reader.toe_with_unit(shim.peak_then_deg)
    if shim.peak_now_deg is None:
        gain = f"would make a setting fit, with a peak of {then}"
    else:
        gain = f"would bring {reader.toe_with_unit(shim.peak_now_deg)} down to {then}"
    fitted = "; ".join(
        f"{reader.on_side(wheel.side)}{_with(wheel, reader)}" for wheel in shim.wheels
    )
    return [f"To buy: {_shims(shim, reader)} {gain} ({fitted})."]


def _shims(shim: NextShim, reader: Reader) -> str:
    units = reader.subject.units
    return " and ".join(
        f"{reader.on_side(wheel.side)}one {wheel.thickness_mm / MM_PER[units]:.6g} {units} shim"
        for wheel in shim.wheels
        if wheel.thickness_mm is not None
    )


def _with(wheel: Fitted, reader: Reader) -> str:
    fitted = [f"stack {reader.pieces(wheel.stack_mm)}"] if wheel.stack_mm else []
    fitted += [f"{one.part} {moved(one, reader.fitted)}" for one in moved_parts(wheel, reader)]
    return ", ".join(fitted) or "standard seat"
