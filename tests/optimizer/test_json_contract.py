"""What --json promises: its keys and types, and nothing else on stdout."""

import jsonschema
import pytest

from optimizer.files.case_file import case_from_toml
from optimizer.models.result import CurveResult

from .command_line import (
    CURVE_LISTS,
    LENGTH_ATOL_MM,
    RESULTS,
    RESULTS_OF_BOTH_SIDES,
    STRUT,
    few_trials,
    run,
    strictly_json,
)

NUMBER = (int, float)
RANKED = {
    "rank": int,
    "outer_drop_mm": NUMBER,
    "rack_raise_mm": NUMBER,
    "stack_mm": list,
    "peak_toe_change_deg": NUMBER,
    "toe_slope_deg_per_10mm": NUMBER,
    "toe_curvature_deg": NUMBER,
    "tilt_margin_deg": NUMBER,
    "clearance_mm": NUMBER,
    "tie_rod_length_change_mm": NUMBER,
    "fits": bool,
    "reasons": list,
}
CERTIFICATE = {
    "combinations": int,
    "best_peak_toe_change_deg": NUMBER,
    "study_gap_deg": NUMBER,
}


def typed_wrong(document: dict[str, object], contract: dict[str, object]) -> list[str]:
    """Keys of a contract that a document lacks or holds as something else."""
    return [
        key
        for key, kind in contract.items()
        if not isinstance(document.get(key), kind)
        or (kind is not bool and isinstance(document[key], bool))
    ]


@pytest.mark.parametrize("command", RESULTS)
def test_json_is_alone_on_stdout_and_of_the_exported_schema(capsys, any_demo_car, command):
    assert run(command, any_demo_car, "--json", *few_trials(command)) == 0
    out, err = capsys.readouterr()
    document = strictly_json(out)
    result = (RESULTS_OF_BOTH_SIDES if "right" in document else RESULTS)[command]
    schema = result.model_json_schema(mode="serialization")
    jsonschema.Draft202012Validator(schema).validate(document)
    assert result.model_validate_json(out).model_dump(mode="json") == document
    assert document["format"] == 1
    assert err == ""


def test_the_schema_refuses_what_is_no_answer(capsys):
    run("curve", STRUT, "--json")
    document = strictly_json(capsys.readouterr().out)
    schema = jsonschema.Draft202012Validator(CurveResult.model_json_schema(mode="serialization"))
    assert not schema.is_valid(document | {"toe_deg": "much"})
    assert not schema.is_valid({key: x for key, x in document.items() if key != "travel_mm"})


def test_suggest_keeps_its_contract(capsys, any_demo_car):
    run("suggest", any_demo_car, "--json", "--trials", 4)
    document = strictly_json(capsys.readouterr().out)
    assert document["ranked"]
    for setting in document["ranked"]:
        assert typed_wrong(setting, RANKED) == []
        assert all(isinstance(piece, float) for piece in setting["stack_mm"])
        assert all(isinstance(reason, str) for reason in setting["reasons"])
        assert sum(setting["stack_mm"]) == pytest.approx(
            setting["outer_drop_mm"], rel=0.0, abs=LENGTH_ATOL_MM
        )
    as_is = {key: kind for key, kind in RANKED.items() if key != "rank"}
    assert typed_wrong(document["as_is"], as_is) == []
    assert typed_wrong(document["certificate"], CERTIFICATE) == []
    assert document["certificate"]["kind"] in ("exhaustive", "none")


def test_curve_keeps_its_contract(capsys, any_demo_car):
    run("curve", any_demo_car, "--json")
    document = strictly_json(capsys.readouterr().out)
    assert document["side"] in ("left", "right")
    assert typed_wrong(document, {"tie_rod_length_change_mm": NUMBER, "notes": list}) == []
    lengths = {key: len(document[key]) for key in CURVE_LISTS}
    assert set(lengths.values()) == {len(document["travel_mm"])}
    for key in CURVE_LISTS:
        assert all(isinstance(value, float) for value in document[key])


def test_new_gives_its_starter_as_json_too(capsys):
    assert run("new", "strut", "--json") == 0
    document = strictly_json(capsys.readouterr().out)
    assert typed_wrong(document, {"format": int, "layout": str, "case": str}) == []
    assert case_from_toml(document["case"], "starter").layout == document["layout"] == "strut"
