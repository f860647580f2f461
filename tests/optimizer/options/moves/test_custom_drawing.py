"""The drawing of a pivot made to measure, as SVG and as DXF."""

import json
import re
from xml.etree import ElementTree

import ezdxf
import pytest

from optimizer.cli.main import main
from tests.optimizer.command_line import CASES

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", params=["track-wishbone", "kit-car-inches"])
def drawn(request, tmp_path_factory):
    """Both drawings of a case, its points, and what the JSON says of the outer pivot."""
    import contextlib
    import io

    folder, case = tmp_path_factory.mktemp("drawn"), CASES / f"{request.param}.toml"
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        for ending in ("svg", "dxf"):
            told.truncate(0)
            told.seek(0)
            path = folder / f"pivot.{ending}"
            command = ["suggest", str(case), "--custom", "--json", "--drawing", str(path)]
            assert main(command) in (0, 1)
    (wheel,) = json.loads(told.getvalue())["custom"]["wheels"]
    outer = {one["axis"]: one for one in wheel["coordinates"] if one["pivot"] == "outer"}
    return folder, case, outer


def test_the_pivot_sits_where_the_standard_one_is_moved_to(drawn):
    _, case, outer = drawn
    text = case.read_text(encoding="utf-8")
    typed = re.search(r"tie_rod_outer\s*=\s*\[(.*?)\]", text)[1].split(",")
    size = 25.4 if 'units  = "in"' in text else 1.0
    for axis, number in zip("xyz", typed, strict=True):
        one = outer[axis]
        assert one["place_mm"] == pytest.approx(size * float(number) + one["move_mm"], abs=1e-9)
        least, most = one["room_mm"]
        assert least - 1e-9 <= one["move_mm"] <= most + 1e-9


def test_the_sheet_states_every_coordinate(drawn):
    folder, case, outer = drawn
    root = ElementTree.parse(folder / "pivot.svg").getroot()
    written = [node.text for node in root.iter(f"{SVG}text")]
    inches = "inches" in case.name
    for one in outer.values():
        place = one["place_mm"] / (25.4 if inches else 1.0)
        assert f"{place:+.{3 if inches else 2}f}" in written
    assert any("licensed" in line for line in written if line)


def test_the_dxf_is_full_size(drawn):
    # $INSUNITS 4 means millimeters (DXF reference, header variables; from memory).
    folder, _, outer = drawn
    document = ezdxf.readfile(folder / "pivot.dxf")
    assert document.header["$INSUNITS"] == 4
    assert document.audit().errors == []
    space = document.modelspace()
    circles = [one.dxf.center for one in space.query('CIRCLE[layer=="PIVOT"]')]
    crosses = [
        one for one in space.query('LINE[layer=="PLACE"]') if one.dxf.start.y == one.dxf.end.y
    ]
    places = [one.dxf.start.lerp(one.dxf.end) for one in crosses]
    moved = [(circle - place).vec2 for circle, place in zip(circles, places, strict=True)]
    move = {axis: one["move_mm"] for axis, one in outer.items()}
    expected = [(move["y"], move["z"]), (move["y"], -move["x"]), (-move["x"], move["z"])]
    assert [tuple(one) for one in moved] == [pytest.approx(pair, abs=1e-9) for pair in expected]


def test_a_drawing_without_a_custom_pivot_is_refused(tmp_path, capsys):
    case = str(CASES / "track-wishbone.toml")
    assert main(["suggest", case, "--drawing", str(tmp_path / "pivot.svg")]) == 2
    assert "say --custom too" in capsys.readouterr().err
    assert main(["suggest", case, "--custom", "--drawing", str(tmp_path / "pivot.pdf")]) == 2
    assert "must end in .svg or .dxf" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
