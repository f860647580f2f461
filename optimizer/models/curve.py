"""What `curve` may be asked for; lengths in millimeters."""

from pydantic import Field

from optimizer.models.base import FrozenModel


class CurveRequest(FrozenModel):
    """A change to follow through the travel; None leaves what the case says."""

    outer_drop: float = 0.0
    rack_raise: float = 0.0
    lowered_by: float | None = None
    rack_travel: float = 0.0
    bump: float | None = Field(default=None, ge=0.0)
    droop: float | None = Field(default=None, ge=0.0)
    step: float = Field(default=10.0, gt=0.0)
    keep_rod_length: bool = False
    opposite: bool = False
