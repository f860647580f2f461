"""What a change makes worse in a turn, whatever is fitted."""

from collections.abc import Iterator, Sequence

from optimizer.models.aim import Aim, Also
from optimizer.models.cautions import Worsened
from optimizer.models.side_effects import SideEffects, Turn, TurnAngles
from optimizer.units import Side

# Common practice, from memory, no source: alignment sheets let toe-out on turns miss its value by
# so much before they call a steering arm bent.
TURN_APART_DEG = 1.5
TURNED_ROUND_DEG = 0.1  # of turn toe-out the wrong way, that is worth a word


def worsened(side: Side, effects: SideEffects, aim: Aim, *, custom: bool = False) -> list[Worsened]:
    """What a change makes worse in a turn.

    Steered curves whose peak grows by more than what is near enough; and the
    turn whose toe-out gets worst, if it turns round or goes `TURN_APART_DEG` farther from where
    tires roll freely; where that is not known, from where it is now.
    """
    also = aim.also or Also()
    found = [
        Worsened(
            kind="steered",
            side=side,
            travel_mm=0.0,
            rack_travel_mm=curve.rack_travel_mm,
            before_deg=peak.before,
            after_deg=peak.after,
            custom=custom,
            limited=also.steered_deg is not None,
        )
        for curve in effects.steered
        if (peak := curve.peak_deg).before is not None
        and peak.after is not None
        and peak.after > peak.before + aim.tolerance_deg
    ]
    worst = max(_turned_worse(effects.turn_toe_out), default=None, key=lambda one: one[0])
    if worst is None:
        return found
    _, rack_travel, now, then = worst
    turn = Worsened(
        kind="turn",
        side=side,
        travel_mm=0.0,
        rack_travel_mm=rack_travel,
        before_deg=now.toe_out_deg,
        after_deg=then.toe_out_deg,
        ackermann_deg=then.ackermann_toe_out_deg,
        custom=custom,
        limited=also.turn_toe_out_deg is not None,
    )
    return [*found, turn]


def _turned_worse(
    turns: Sequence[Turn],
) -> Iterator[tuple[float, float, TurnAngles, TurnAngles]]:
    """Turns that get worse: by how much [deg], at which rack travel, and what they were and are."""
    for turn in turns:
        now, then = turn.before, turn.after
        if now is None or then is None:
            continue
        was, out = now.toe_out_deg, then.toe_out_deg
        farther = abs(out - was)
        if now.ackermann_toe_out_deg is not None and then.ackermann_toe_out_deg is not None:
            farther = abs(out - then.ackermann_toe_out_deg) - abs(was - now.ackermann_toe_out_deg)
        if farther > TURN_APART_DEG or out < -TURNED_ROUND_DEG < 0.0 < was:
            yield farther, turn.rack_travel_mm, now, then
