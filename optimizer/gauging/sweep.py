"""A sweep: toe read at wheel travels, with what was fitted at the time."""

from dataclasses import dataclass

from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.gauging.conversions import Gauge


@dataclass(frozen=True)
class Sweep:
    """Toe of one wheel against its travel, as a gauge gave it.

    `travel` (N,) from ride height [mm]; `toe` (N,) as the gauge sees it, up to a constant that it
    does not know [rad]; `noise` is one standard deviation of a reading [rad]; `fitted` is a batch
    of one.
    """

    travel: Array
    toe: Array
    noise: float
    fitted: Settings
    gauge: Gauge
