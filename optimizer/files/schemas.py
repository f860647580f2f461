"""JSON schemas of the files that people write, for editors that check and complete TOML."""

from typing import Any, Literal

from pydantic import BaseModel

from optimizer.models.case import Case
from optimizer.models.kits import Kit, KitsFile
from optimizer.models.readings import Readings
from optimizer.models.survey import KINDS, Survey
from optimizer.models.vehicle import OF_ONE_WHEEL

FileKind = Literal["case", "kits", "readings", "survey"]
DIALECT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Any]


def file_schema(kind: FileKind) -> Schema:
    """Schema of a kind of file as it is typed; what a schema can't say, the program checks."""
    of_kind = {
        "case": _of_case,
        "kits": _of_kits,
        "readings": _of_readings,
        "survey": _of_survey,
    }
    schema = of_kind[kind]()
    return {"$schema": DIALECT, "title": f"pivotwright {kind}", **schema}


def _typed(model: type[BaseModel]) -> Schema:
    """Schema of a model, with what a key means, and without what it is if left out."""
    schema = model.model_json_schema()
    for part in (schema, *schema.get("$defs", {}).values()):
        for key in ("title", "description"):
            part.pop(key, None)
        for one in part.get("properties", {}).values():
            one.pop("default", None)
            one.pop("title", None)
    schema["$defs"] = schema.get("$defs", {})
    return schema


def _of_case() -> Schema:
    schema = _typed(Case)
    one, several = {"type": "number"}, {"type": "array", "items": {"type": "number"}}
    schema["$defs"]["LowerBallJoint"]["properties"]["drop"] = {"anyOf": [one, several]}
    for bracket in ("frame_bracket", "axle_bracket"):
        schema["$defs"]["LateralLink"]["properties"][bracket] = {"anyOf": [one, several]}
    for choice in ("lift_block", "shackle_longer"):
        schema["$defs"]["LeafSpring"]["properties"][choice] = {"anyOf": [one, several]}
    accuracy = schema["$defs"]["Accuracy"]["properties"]
    accuracy["points"] = {"type": ["number", "object"]}
    accuracy["covariance_root"] = {"type": "object"}
    schema["$defs"]["Aim"]["properties"]["band"] = {"type": "array"}
    wheel = {key: schema["properties"][key] for key in OF_ONE_WHEEL}
    for side in ("left", "right"):
        schema["properties"][side] = {
            "type": "object",
            "properties": wheel,
            "additionalProperties": False,
        }
    required = [key for key in schema["required"] if key not in OF_ONE_WHEEL]
    schema["required"] = required
    schema["anyOf"] = [{"required": ["points"]}, {"required": ["left", "right"]}]
    return schema


def _of_kits() -> Schema:
    schema, kit = _typed(KitsFile), _typed(Kit)
    schema["$defs"] |= kit.pop("$defs")
    schema["$defs"]["Kit"] = kit
    schema["$defs"]["Stud"]["required"].remove("seat")  # a kit's own says it
    schema["properties"]["kits"] = {"type": "array", "items": {"$ref": "#/$defs/Kit"}}
    schema["required"].append("kits")
    return schema


def _of_readings() -> Schema:
    schema = _typed(Readings)
    schema["properties"]["readings_csv"] = {"type": "string"}
    schema["properties"]["readings"] = {"type": "array"}
    schema["required"].remove("readings")
    schema["oneOf"] = [{"required": ["readings"]}, {"required": ["readings_csv"]}]
    return schema


def _of_survey() -> Schema:
    schema = _typed(Survey)
    schema["$defs"].pop("SurveyRow", None)
    row = {"type": "array", "items": {"type": ["string", "number"]}, "minItems": 1}
    for key in KINDS:
        schema["properties"][key] = {"type": "array", "items": row}
    return schema
