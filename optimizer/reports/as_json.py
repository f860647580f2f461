"""Answers as JSON: facts as their sentences, and the facts themselves beside them."""

import json
from typing import Any

from pydantic import BaseModel

from optimizer.models.answer import Answer, Fact
from optimizer.models.subject import Subject
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


def json_text(answer: Answer, subject: Subject) -> str:
    """Write an answer; `subject` is the car that its facts are about."""
    return json.dumps(_told(answer, Reader(subject)), indent=2, ensure_ascii=False) + "\n"


def _told(value: Any, reader: Reader) -> Any:
    if isinstance(value, BaseModel):
        return _told_fields(value, reader)
    if isinstance(value, list | tuple):
        return [_told(item, reader) for item in value]
    if isinstance(value, dict):
        return {key: _told(item, reader) for key, item in value.items()}
    return value


def _told_fields(answer: BaseModel, reader: Reader) -> dict[str, Any]:
    told: dict[str, Any] = {}
    facts: dict[str, Any] = {}
    for key, value in answer:
        found = _facts(value)
        if found is None:
            told[key] = _told(value, reader)
        elif isinstance(value, Fact):
            told[key], facts[key] = sentence(value, reader), value.model_dump()
        else:
            told[key] = [sentence(fact, reader) for fact in found]
            facts[key] = [fact.model_dump() for fact in found]
    return told | ({"facts": facts} if facts else {})


def _facts(value: Any) -> list[Fact] | None:
    """Facts in a field: one, or a list of nothing else; None for any other."""
    if isinstance(value, Fact):
        return [value]
    if isinstance(value, list) and value and all(isinstance(item, Fact) for item in value):
        return value
    return None
