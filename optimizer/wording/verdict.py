"""Where an answer stands, in words: what to fit and where, met or missed, what would meet it."""

from optimizer.models.verdict import Placed, Verdict, WayOut, WayOutKind
from optimizer.units import MM_PER
from optimizer.wording.alignment import NOTHING_MM
from optimizer.wording.cures import CUSTOM, inner_moved
from optimizer.wording.fitting import each_fitted, of_kit, what_to_fit
from optimizer.wording.odds import chance
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

NOTHING = "Nothing that can be built keeps every limit{stops}."
SO_SURELY = (
    "Nothing that can be built keeps every limit in {kept} of the cars that tape and build leave "
    "possible{stops}."
)
STOPS = ": with number 1 {stops}"
MET = "Peak {peak}{of}, within the wanted {wanted}."
MISSED = "Peak {peak}{of} misses the wanted {wanted} by {by}{least}."
LEAST = "; the best that this hardware can do is {least}"
SIMPLEST = (
    "It is the least work of what meets that; more work brings {least}, but points by tape tell "
    "toe only to {tape} (one standard deviation)."
)
OF_BAND = "Peak {peak} from the middle of the wanted band; {band}."
ORDERS = ("fit ", "take off ", "change ", "make ")  # that need no "fit" before them
WHERE = "{pieces} between {words.arm} and outer joint, the joint {of_arm} the arm"
FAR = (
    "Out of any hardware's reach{still}: {way}. That is over a tenth of the {rod}: look for a "
    "wrong point first{custom}."
)
NOT_ENOUGH = ", and not enough"
WAYS: dict[WayOutKind, str] = {
    "listed": "{wheels} leaves {peak} on the car as measured",
    "shim": "{shims} more, fitted as {wheels}, leaves {peak}",
    "limit": "{wheels} would leave {peak}, but there {stops}",
    "stack": "{wheels} leaves {peak}{but}",
    "rod": "{longer} with {wheels} leaves {peak}{but}",
    "custom": "a pivot made to measure leaves {peak}",
}


@sentence.register
def _verdict(found: Verdict, reader: Reader) -> str:
    said = (
        [_nothing(found, reader)]
        if found.peak_deg is None
        else [_fit(found, reader), _peak(found, reader)]
    )
    if found.tape_deg is not None and found.least_deg is not None:
        least, tape = map(reader.toe_with_unit, (found.least_deg, found.tape_deg))
        said.append(SIMPLEST.format(least=least, tape=tape))
    return " ".join([*said, *_would_meet(found, reader)])


def _nothing(found: Verdict, reader: Reader) -> str:
    """Say that nothing fits, and why, but where a way out tells that anyway."""
    stops = "; ".join(sentence(stop, reader) for stop in found.stops)
    if any(way.stops and not way.far for way in found.ways_out):
        stops = ""
    told = STOPS.format(stops=stops) if stops else ""
    if found.kept_share is None:
        return NOTHING.format(stops=told)
    return SO_SURELY.format(kept=chance(found.kept_share), stops=told)


def _peak(found: Verdict, reader: Reader) -> str:
    text = OF_BAND if found.bands else MET if found.meets else MISSED
    return text.format(
        peak=reader.toe_with_unit(found.peak_deg or 0.0),
        of=" from the wanted gain" if found.from_gain else "",
        wanted=reader.toe_with_unit(found.tolerance_deg),
        least=""
        if found.least_deg is None
        else LEAST.format(least=reader.toe_with_unit(found.least_deg)),
        band=_bands(found, reader),
        by=reader.toe_excess(found.missed_by_deg or 0.0),
    )


def _bands(found: Verdict, reader: Reader) -> str:
    """Say how each wheel keeps the wanted band, once where both do alike."""
    told = [sentence(band, reader) for band in found.bands]
    if len({*told}) == 1:
        return f"{'both wheels are' if len(told) > 1 else 'it is'} {told[0]}"
    each = zip(reader.subject.sides, told, strict=False)  # none where no band is wanted
    return "; ".join(f"the {side} wheel is {one}" for side, one in each)


def _fit(found: Verdict, reader: Reader) -> str:
    if found.leave:
        return "Leave it as it is."
    kit, idle = of_kit(found.kit, idle=found.kit_idle)
    fitted = f"{kit}{'; '.join(each_fitted(found.wheels, reader, _placed))}{idle}."
    return fitted[0].upper() + fitted[1:] if fitted.startswith(ORDERS) else f"Fit {fitted}"


def _placed(wheel: Placed, reader: Reader) -> str:
    built = what_to_fit(wheel, reader)
    if wheel.of_arm is None:
        return built
    pieces = "shims" if len(wheel.stack_mm) > 1 else "spacer"
    where = WHERE.format(pieces=pieces, words=reader.words, of_arm=wheel.of_arm)
    return f"{built} ({where})"


def _would_meet(found: Verdict, reader: Reader) -> list[str]:
    if found.meets:
        return []
    ways = [(way, sentence(way, reader)) for way in found.ways_out if not way.far]
    met = "; ".join(text for way, text in ways if way.meets and not way.stops)
    stopped = "; ".join(text for way, text in ways if way.meets and way.stops)
    nearer = "; ".join(text for way, text in ways if not way.meets)
    said = [f"What would meet it: {met}."] if met else []
    said += [f"What would meet it but for a limit: {stopped}."] if stopped else []
    custom = "" if found.ways_out and found.ways_out[-1].kind == "custom" else f"; {CUSTOM}"
    if nearer:
        said.append(f"Not enough by itself: {nearer}{custom}.")
    said += [
        FAR.format(
            still="" if way.meets else NOT_ENOUGH,
            way=sentence(way, reader),
            rod=reader.words.rod,
            custom="" if nearer else custom,
        )
        for way in found.ways_out
        if way.far
    ]
    return said


@sentence.register
def _way_out(way: WayOut, reader: Reader) -> str:
    units = reader.subject.units
    kit = "" if way.kit is None else f"{way.kit}: "
    each = each_fitted(way.wheels, reader, what_to_fit)
    stops = "; ".join(sentence(stop, reader) for stop in way.stops)
    longer = [
        f"{reader.on_side(wheel.side)}{inner_moved(mm, reader)}"
        for wheel, mm in zip(way.wheels, way.longer_mm, strict=False)
        if mm is not None and abs(mm) >= NOTHING_MM
    ]
    shims = [
        f"{reader.on_side(wheel.side)}one {mm / MM_PER[units]:.6g} {units} shim"
        for wheel, mm in zip(way.wheels, way.shims_mm, strict=False)
        if mm is not None
    ]
    return WAYS[way.kind].format(
        wheels=kit + " and ".join(each),
        peak=reader.toe_with_unit(way.peak_deg),
        stops=stops,
        but=f", but there {stops}" if stops else "",
        longer=" and ".join(longer),
        shims=" and ".join(shims),
    )
