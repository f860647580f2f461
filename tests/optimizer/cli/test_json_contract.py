"""What --json promises: its keys and types, and nothing else on stdout."""

import jsonschema
import pytest

from optimizer.files.case_file import case_from_toml
from optimizer.models.curve import CurveResult
from optimizer.reports.as_json import json_schema
from tests.optimizer.command_line import (
    CURVE_LISTS,
    LENGTH_ATOL_MM,
    RESULTS,
    STRUT,
    answer_of,
    run,
    strictly_json,
)

NUMBER = (int, float)
RANKED = {
    "rank": int,
    "rack_raise_mm": NUMBER,
    "peak_toe_change_deg": NUMBER,
    "fits": bool,
    "reasons": list,
}
FITTED = {
    "side": str,
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
    code = run(command, any_demo_car, "--json")
    out, err = capsys.readouterr()
    answer = answer_of(RESULTS[command], out)
    assert code == (0 if command != "suggest" or answer.verdict.meets else 1)
    assert answer.format == strictly_json(out)["format"] == 2
    assert [wheel["side"] for wheel in strictly_json(out)["wheels"]] == answer.subject.sides
    assert err == ""


def test_the_schema_refuses_what_is_no_answer(capsys):
    run("curve", STRUT, "--json")
    document = strictly_json(capsys.readouterr().out)
    schema, (wheel,) = jsonschema.Draft202012Validator(json_schema(CurveResult)), document["wheels"]
    assert schema.is_valid(document)
    for wrong in (
        wheel | {"toe_deg": "much"},
        wheel | {"notes": [{"ends": "rod", "travel_mm": [1.0]}]},
        wheel | {"facts": {"travel_mm": [1.0]}},
        {key: x for key, x in wheel.items() if key != "travel_mm"},
    ):
        assert not schema.is_valid(document | {"wheels": [wrong]})


def test_suggest_keeps_its_contract(capsys, any_demo_car):
    run("suggest", any_demo_car, "--json")
    document = strictly_json(capsys.readouterr().out)
    assert document["ranked"]
    for option in (*document["ranked"], document["as_is"]):
        assert typed_wrong(option, RANKED) == []
        assert [wheel["side"] for wheel in option["wheels"]] == document["subject"]["sides"]
        for wheel in option["wheels"]:
            assert typed_wrong(wheel, FITTED) == []
            assert all(isinstance(piece, float) for piece in wheel["stack_mm"])
            assert all(isinstance(reason, str) for reason in wheel["reasons"])
            assert sum(wheel["stack_mm"]) == pytest.approx(
                wheel["outer_drop_mm"], rel=0.0, abs=LENGTH_ATOL_MM
            )
        peaks = [wheel["peak_toe_change_deg"] for wheel in option["wheels"]]
        assert option["peak_toe_change_deg"] == max(peaks)
    assert typed_wrong(document["certificate"], CERTIFICATE) == []
    assert document["certificate"]["kind"] in ("exhaustive", "none")


def test_curve_keeps_its_contract(capsys, any_demo_car):
    run("curve", any_demo_car, "--json")
    document = strictly_json(capsys.readouterr().out)
    for wheel in document["wheels"]:
        assert wheel["side"] in ("left", "right")
        assert typed_wrong(wheel, {"tie_rod_length_change_mm": NUMBER, "notes": list}) == []
        lengths = {key: len(wheel[key]) for key in CURVE_LISTS}
        assert set(lengths.values()) == {len(wheel["travel_mm"])}
        for key in CURVE_LISTS:
            assert all(isinstance(value, float) for value in wheel[key])


def test_new_gives_its_starter_as_json_too(capsys):
    assert run("new", "strut", "--json") == 0
    document = strictly_json(capsys.readouterr().out)
    assert typed_wrong(document, {"format": int, "layout": str, "case": str}) == []
    assert case_from_toml(document["case"], "starter").layout == document["layout"] == "strut"
