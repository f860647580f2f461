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


def json_schema(answer: type[Answer]) -> dict[str, Any]:
    """JSON schema of an answer as `json_text` writes it."""
    schema = answer.model_json_schema(mode="serialization")
    facts = {f"#/$defs/{kind.__name__}" for kind in _kinds_of(Fact)}
    definitions: dict[str, dict[str, Any]] = schema.get("$defs", {})
    for name, definition in [("", schema), *definitions.items()]:
        if f"#/$defs/{name}" not in facts:
            _put_facts_aside(definition, facts)
    if Fact.__name__ in definitions:
        definitions[Fact.__name__] = {"type": "object"}  # of any kind
    return schema


def _kinds_of(kind: type[Fact]) -> list[type[Fact]]:
    return [kind, *(one for each in kind.__subclasses__() for one in _kinds_of(each))]


def _put_facts_aside(definition: dict[str, Any], facts: set[str]) -> None:
    properties = definition.get("properties", {})
    aside = {key: of for key, of in properties.items() if _in_words(of, facts) != of}
    if aside:
        properties.update({key: _in_words(of, facts) for key, of in aside.items()})
        properties["facts"] = {
            "type": "object",
            "properties": aside,
            "additionalProperties": False,
        }


def _in_words(schema: dict[str, Any], facts: set[str]) -> dict[str, Any]:
    """Schema of a property with every fact in it as its sentence."""
    if schema.get("$ref") in facts:
        return {"type": "string"}
    if "anyOf" in schema:
        return schema | {"anyOf": [_in_words(one, facts) for one in schema["anyOf"]]}
    if "items" in schema:
        return schema | {"items": _in_words(schema["items"], facts)}
    return schema


def _told(value: Any, reader: Reader) -> Any:
    if isinstance(value, BaseModel):
        return _told_fields(value, reader)
    if isinstance(value, list | tuple):
        return [_told(item, reader) for item in value]
    if isinstance(value, dict):
        return {key: _told(item, reader) for key, item in value.items()}
    return value


def _told_fields(answer: BaseModel, reader: Reader) -> dict[str, Any]:
    if isinstance(own := getattr(answer, "subject", None), Subject):
        reader = Reader(own)
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
