"""The base of all results, and of the facts in them."""

from pydantic import BaseModel, ConfigDict


class Answer(BaseModel):
    """Base of every result: frozen, nothing unnamed, no NaN."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


class Fact(Answer):
    """Something found that a sentence can be made of, with its numbers; equal ones are one fact.

    `optimizer.wording` makes the sentence.  In JSON a key that holds facts holds their sentences,
    and the facts themselves stand beside it, under the same key in ``facts``.
    """
