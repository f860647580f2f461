"""The base of all results."""

from pydantic import BaseModel, ConfigDict


class Answer(BaseModel):
    """Base of every result: frozen, nothing unnamed, no NaN."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
