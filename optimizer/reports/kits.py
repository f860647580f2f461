"""Sentences about kits and what to buy."""

from collections.abc import Sequence

from optimizer.models.suggest import KitFacts, SuggestResult
from optimizer.units import MM_PER
from optimizer.wording.reader import Reader

STUDS = {
    "tapered": "tapered stud in the original taper",
    "straight-bolt": "straight bolt: the taper is drilled out, which can't be undone",
}


def kits_in_words(kits: Sequence[KitFacts], currency: str | None) -> list[str]:
    """Say of each kit how it is held, what it costs and weighs, as far as that is stated."""
    return [f"{kit.name}: {_facts(kit, currency)}." for kit in kits]


def _facts(kit: KitFacts, currency: str | None) -> str:
    said = [] if kit.seat is None else [STUDS[kit.seat]]
    if kit.price is not None:
        said.append(f"{kit.price:g}{'' if currency is None else f' {currency}'}")
    if kit.mass_g is not None:
        said.append(f"{kit.mass_g:g} g")
    return ", ".join(said)


def shim_in_words(result: SuggestResult, reader: Reader) -> list[str]:
    """Say what the one shim to buy would bring, if any, and with what else fitted."""
    shim = result.next_shim
    if shim is None:
        return []
    units = reader.subject.units
    size = f"{shim.thickness_mm / MM_PER[units]:.6g} {units}"
    then = reader.toe_with_unit(shim.peak_then_deg)
    if shim.peak_now_deg is None:
        gain = f"would make a setting fit, with a peak of {then}"
    else:
        gain = f"would bring {reader.toe_with_unit(shim.peak_now_deg)} down to {then}"
    fitted = [f"stack {reader.pieces(shim.stack_mm)}"]
    for what, raised in (
        (reader.words.inner, shim.rack_raise_mm),
        ("lateral link's frame bracket", shim.frame_bracket_raise_mm),
        ("lateral link's axle bracket", shim.axle_bracket_raise_mm),
    ):
        if raised:
            way = "raised" if raised > 0.0 else "lowered"
            fitted.append(f"{what} {way} {reader.fitted(abs(raised))}")
    if shim.ball_joint_drop_mm != result.as_is.ball_joint_drop_mm:
        fitted.append(f"lower ball joint {reader.fitted(shim.ball_joint_drop_mm)} down")
    return [f"To buy: one {size} shim {gain} ({', '.join(fitted)})."]
