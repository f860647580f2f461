"""Files beside the terminal: rows as CSV, curves as a drawing, other curves laid over."""

import csv
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from optimizer.cli.main import main
from tests.optimizer.command_line import CASES

TRACK = str(CASES / "track-wishbone.toml")
BOTH = str(CASES / "two-sided-wishbone.toml")
KITS = str(CASES / "kits.toml")
PNG = b"\x89PNG\r\n\x1a\n"  # PNG specification (ISO/IEC 15948), 5.2


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def answer(capsys, *arguments):
    code = main([*arguments, "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("case", [TRACK, BOTH])
def test_the_curve_as_csv_is_that_of_the_json(tmp_path, capsys, case):
    table = tmp_path / "curve.csv"
    _, found = answer(capsys, "curve", case, "--with", "drop 8", "--csv", str(table))
    told = [
        (name, wheel["side"], travel, toe)
        for name, curve in (("as asked", found), ("drop 8", found["others"][0]["curve"]))
        for wheel in curve["wheels"]
        for travel, toe in zip(wheel["travel_mm"], wheel["toe_deg"], strict=True)
    ]
    kept = [
        (row["curve"], row["side"], float(row["travel_mm"]), float(row["toe_deg"]))
        for row in rows(table)
    ]
    assert kept == told


def test_the_ranking_as_csv_is_that_of_the_json(tmp_path, capsys):
    table = tmp_path / "ranking.csv"
    _, found = answer(capsys, "suggest", BOTH, "--kits", KITS, "--csv", str(table))
    told = [
        (row["kit"] or "", wheel["side"], wheel["outer_drop_mm"], wheel["peak_toe_change_deg"])
        for row in found["ranked"]
        for wheel in row["wheels"]
    ]
    kept = [
        (row["kit"], row["side"], float(row["outer_drop_mm"]), float(row["peak_toe_change_deg"]))
        for row in rows(table)
    ]
    assert kept == told
    for row in rows(table):
        pieces = [float(piece) for piece in row["stack_mm"].split("+") if piece]
        assert sum(pieces) == pytest.approx(float(row["outer_drop_mm"]))


def test_the_map_of_reach_as_csv_is_that_of_the_json(tmp_path, capsys):
    table = tmp_path / "reach.csv"
    _, found = answer(capsys, "reach", TRACK, "--kits", KITS, "--csv", str(table))
    told = [
        (row["lowered_by_mm"], row["kit"], str(row["reachable"]), "+".join(row["blocked_by"]))
        for row in found["heights"]
    ]
    assert told == [
        (float(row["lowered_by_mm"]), row["kit"], row["car_reachable"], row["car_blocked_by"])
        for row in rows(table)
    ]


def test_settings_laid_over_are_what_curve_says_of_each_alone(capsys):
    # The unit is the case's, or the one written; only what is named differs from what was asked.
    kit_car = str(CASES / "kit-car-inches.toml")
    asked = ["curve", kit_car, "--rack-raise", "0.25", "--step", "0.5"]
    _, found = answer(capsys, *asked, "--with", "outer drop 3/8in", "--with", "rack 6mm, drop 0.5")
    _, alone = answer(capsys, *asked, "--outer-drop", "0.375")
    _, other = answer(
        capsys, "curve", kit_car, "--step", "0.5", "--rack-raise", "6mm", "--outer-drop", "0.5"
    )
    assert [one["curve"]["wheels"] for one in found["others"]] == [alone["wheels"], other["wheels"]]


def test_a_kit_is_laid_over_at_its_best(capsys):
    kit = "Short tapered stud"
    _, found = answer(capsys, "curve", TRACK, "--kits", KITS, "--with", kit)
    _, ranked = answer(capsys, "suggest", TRACK, "--kits", KITS, "--show", "50")
    best = next(row for row in ranked["ranked"] if row["kit"] == kit and row["fits"])
    (other,) = found["others"]
    assert other["curve"]["facts"]["setting"]["outer_drop_mm"] == best["wheels"][0]["outer_drop_mm"]
    toes = other["curve"]["wheels"][0]["toe_deg"]
    assert max(map(abs, toes)) == pytest.approx(best["peak_toe_change_deg"], abs=1e-9)


def test_another_car_is_followed_over_the_same_travel(capsys):
    _, found = answer(capsys, "curve", TRACK, "--with", BOTH)
    (other,) = found["others"]
    assert [wheel["travel_mm"] for wheel in other["curve"]["wheels"]] == (
        2 * [found["wheels"][0]["travel_mm"]]
    )
    assert main(["curve", TRACK, "--with", BOTH]) == 0
    assert "toe change from ride height" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("drob 12", "drob 12 is not a length of a part"),
        ("drop", "drop is not a length of a part"),
        ("drop 12,", "nothing is not a length of a part"),
        ("drop twelve", "drop must be a length such as"),
        ("right drop 3", "the case measures one wheel"),
        ("drop 900000", "within"),
        ("no-such-car.toml", "no-such-car.toml"),
    ],
)
def test_what_cannot_be_laid_over_is_said_so(capsys, text, said):
    assert main(["curve", TRACK, "--with", text]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err


@pytest.mark.parametrize(
    ("command", "curves"),
    [
        (["curve", TRACK, "--with", "drop 8"], ["as asked", "drop 8"]),
        (["suggest", BOTH], ["now", "number 1: drop outer 4.0 mm"]),
        (
            [
                "gauge",
                str(CASES / "lowered-strut.toml"),
                str(CASES / "readings/lowered-strut.toml"),
            ],
            ["read", "expected with the next stack"],
        ),
    ],
)
def test_a_drawing_is_whole_svg_by_itself(tmp_path, capsys, command, curves):
    drawing = tmp_path / "toe.svg"
    assert main([*command, "--plot", str(drawing)]) in (0, 1)
    text = drawing.read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    written = [node.text for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert [name for name in curves if name not in written] == []
    assert not re.search(r"href=|url\((?!#)", text)  # nothing to load
    names = re.findall(r'class="curve (\w+)" d="M', text)
    assert len(names) >= len(curves)


def test_a_drawing_as_png(tmp_path):
    drawing = tmp_path / "toe.png"
    assert main(["curve", TRACK, "--plot", str(drawing)]) == 0
    assert drawing.read_bytes().startswith(PNG)


@pytest.mark.parametrize(
    ("option", "ending"), [("--page", "html"), ("--csv", "csv"), ("--plot", "svg")]
)
def test_a_file_is_replaced_only_when_told_and_never_one_that_is_read(
    tmp_path, capsys, option, ending
):
    case = tmp_path / f"car.{ending}"
    case.write_text((CASES / "track-wishbone.toml").read_text(encoding="utf-8"), encoding="utf-8")
    kept = case.read_bytes()
    assert main(["curve", str(case), option, str(case), "--overwrite"]) == 2
    assert "is read by this command" in capsys.readouterr().err
    assert case.read_bytes() == kept
    out = tmp_path / f"out.{ending}"
    out.write_text("mine", encoding="utf-8")
    assert main(["curve", str(case), option, str(out)]) == 2
    assert "exists already; add --overwrite" in capsys.readouterr().err
    assert out.read_text(encoding="utf-8") == "mine"
    assert main(["curve", str(case), option, str(out), "--overwrite"]) == 0
    assert out.read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize(
    "named",
    [["--csv", "out.svg", "--plot", "out.svg"], ["--with", "two.toml", "--csv", "two.toml"]],
)
def test_no_file_is_written_twice_or_over_a_curve_laid_beside(tmp_path, monkeypatch, capsys, named):
    monkeypatch.chdir(tmp_path)
    kept = (CASES / "track-wishbone.toml").read_bytes()
    Path("one.toml").write_bytes(kept)
    Path("two.toml").write_bytes(kept)
    assert main(["curve", "one.toml", *named, "--overwrite"]) == 2
    assert "or written by another option; name another file" in capsys.readouterr().err
    assert not Path("out.svg").exists()
    assert Path("two.toml").read_bytes() == kept


@pytest.mark.parametrize("option", ["--csv", "--write"])
def test_no_file_is_written_over_the_rows_of_a_sweep(tmp_path, capsys, option):
    case, sweep, rows = (tmp_path / name for name in ("car.toml", "sweep.toml", "rows.csv"))
    case.write_bytes((CASES / "lowered-strut.toml").read_bytes())
    text = (CASES / "readings/no-points.toml").read_text(encoding="utf-8")
    sweep.write_text(text.replace("no-points.csv", rows.name), encoding="utf-8")
    kept = (CASES / "readings/no-points.csv").read_bytes()
    rows.write_bytes(kept)
    assert main(["gauge", str(case), str(sweep), option, str(rows), "--overwrite"]) == 2
    assert "is read by this command" in capsys.readouterr().err
    assert rows.read_bytes() == kept


def test_a_sheet_goes_to_its_page_and_as_text_to_the_terminal(tmp_path, capsys):
    assert main(["sheet", TRACK]) == 0
    html = capsys.readouterr().out
    assert main(["sheet", TRACK, "--text"]) == 0
    text = capsys.readouterr().out
    page = tmp_path / "sheet.html"
    assert main(["sheet", TRACK, "--page", str(page)]) == 0
    assert capsys.readouterr().out == text
    assert page.read_text(encoding="utf-8") == html


def test_a_drawing_of_another_kind_is_refused(tmp_path, capsys):
    assert main(["curve", TRACK, "--plot", str(tmp_path / "toe.pdf")]) == 2
    assert "must end in .svg or .png" in capsys.readouterr().err
