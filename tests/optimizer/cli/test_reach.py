"""`reach` on the command line: its options, its exit codes, and the heights it looks at unasked."""

import json
import re
from pathlib import Path

import pytest

from optimizer.cli.main import main
from optimizer.cli.reach import usual_heights
from optimizer.units import MM_PER_INCH
from tests.optimizer.command_line import outcome

LENGTH_ATOL_MM = 1e-9
CASES = Path(__file__).parents[3] / "cases"
WISHBONE = CASES / "track-wishbone.toml"
EXTENDED = CASES / "extended-strut.toml"
TWO_SIDED = CASES / "two-sided-wishbone.toml"
KITS = CASES / "kits.toml"
OF_THE_CAR = {
    "reachable",
    "rack_raise_mm",
    "ball_joint_drop_mm",
    "peak_toe_change_deg",
    "blocked_by",
    "short_by",
}
OF_A_WHEEL = {
    "reachable",
    "outer_drop_mm",
    "stack_mm",
    "peak_toe_change_deg",
    "blocked_by",
    "short_by",
    "camber_deg",
    "caster_deg",
    "tie_rod_length_mm",
    "alone_peak_deg",
}


@pytest.mark.parametrize("case", [WISHBONE, TWO_SIDED], ids=["one wheel", "two wheels"])
def test_json_holds_a_row_for_each_height_and_kit_and_in_it_each_wheel(capsys, case):
    code, out, err = outcome(
        capsys, "reach", case, "--kits", KITS, "--heights", "10:30:10", "--json"
    )
    told = json.loads(out)
    assert (code, err, told["format"]) == (0, "", 2)
    names = [one["name"] for one in told["kits"]]
    assert [(row["lowered_by_mm"], row["kit"]) for row in told["heights"]] == [
        (height, name) for height in (10.0, 20.0, 30.0) for name in names
    ]
    for row in told["heights"]:
        assert set(row) >= OF_THE_CAR
        assert [wheel["side"] for wheel in row["wheels"]] == told["subject"]["sides"]
        assert all(set(wheel) >= OF_A_WHEEL for wheel in row["wheels"])
        assert all(isinstance(reason, str) for reason in row["reasons"])
        if row["reasons"]:
            assert len(row["facts"]["reasons"]) == len(row["reasons"])
    stopped = [row for row in told["heights"] if not row["reachable"]]
    assert stopped


def test_the_map_of_both_wheels_reads_as_it_did(capsys, monkeypatch, two_sided_car, same_as_golden):
    monkeypatch.chdir(CASES.parent)
    monkeypatch.setenv("NO_COLOR", "1")
    case = two_sided_car.relative_to(CASES.parent)
    code, out, err = outcome(capsys, "reach", case, "--heights", "0:40:10")
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 100
    same_as_golden(f"{two_sided_car.stem}.reach.txt", out)


def test_the_case_s_own_height_is_among_those_looked_at_where_none_are_asked_for(capsys):
    code, out, _ = outcome(capsys, "reach", EXTENDED, "--json")
    heights = [row["lowered_by_mm"] for row in json.loads(out)["heights"]]
    assert heights == [5.0 * k for k in range(15)]
    assert code == 0


def test_a_car_in_inches_is_looked_at_in_quarters_of_an_inch(capsys):
    _, out, _ = outcome(capsys, "reach", CASES / "kit-car-inches.toml", "--json")
    heights = [row["lowered_by_mm"] / MM_PER_INCH for row in json.loads(out)["heights"]]
    assert heights == pytest.approx([0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5], abs=LENGTH_ATOL_MM)


@pytest.mark.parametrize(
    ("own", "units", "heights"),
    [
        (-7.0, "mm", [-25.0, -20.0, -15.0, -10.0, -7.0, -5.0, 0.0]),
        (-60.0, "mm", [5.0 * k for k in range(-16, 1)]),
        (19.05, "in", [6.35 * k for k in range(8)]),  # three quarters: 3 x 6.35 is a bit less
        (395.0, "mm", [5.0 * k for k in range(84)]),
    ],
)
def test_the_case_s_own_height_is_looked_at_once(own, units, heights):
    told = usual_heights(own, units)
    assert told == pytest.approx(heights, rel=0.0, abs=LENGTH_ATOL_MM)
    assert own in told


def test_of_a_lifted_truck_it_is_said_how_high_each_goes(capsys):
    truck = CASES / "lifted-beam-axle.toml"
    _, out, _ = outcome(capsys, "reach", truck)
    said = " ".join(out.split())
    assert "How high each goes" in said
    assert (
        "meets the tolerance up to 45.0 mm higher, but not at the height as measured; at 50.0"
        in (said)
    )
    _, lower, _ = outcome(capsys, "reach", truck, "--heights=-60:5:65")
    assert "How low each goes" in lower


def test_nothing_reachable_is_exit_code_1(capsys):
    code, out, _ = outcome(capsys, "reach", CASES / "lowered-strut.toml", "--heights", "0:10:10")
    assert code == 1
    assert "meets the tolerance at none of these heights" in out


def test_a_kit_that_keeps_no_limit_is_told_the_limit_not_where_its_range_starts(capsys):
    kits = ("--kits", CASES / "kits.toml", "--heights", "0:50:5")
    _, out, _ = outcome(capsys, "reach", WISHBONE, *kits)
    told = "long tapered stud keeps every limit at none of these heights; at 15.0 mm lower: rod"
    assert told in " ".join(out.split())


def test_a_stack_below_a_kit_is_one_before_the_kit_starts(capsys, tmp_path):
    kits = tmp_path / "kits.toml"
    kit = 'name = "Tall"\nseat = "tapered"\nstack = { min = 6.35, max = 38.1, step = 1.0 }'
    kits.write_text(f'format = 1\nunits = "mm"\n[[kits]]\n{kit}\n', encoding="utf-8")
    asked = ("--kits", kits, "--heights", "0:0:1")
    _, out, _ = outcome(capsys, "reach", CASES / "kit-car-inches.toml", *asked)
    assert "beyond 0.250 in, where the kit starts, leaves" in " ".join(out.split())


def test_a_lifted_truck_is_told_how_far_it_is_lifted_and_stacks_above_the_seat_in_words(capsys):
    asked = (CASES / "lifted-leaf-axle.toml", "--heights=-80:-70:10")
    _, out, _ = outcome(capsys, "reach", *asked)
    assert "needs raise 41.7 mm with the pitman ball lowered 80.0 mm" in " ".join(out.split())
    assert "fitted, the hardware ends at raise 10.0 mm." in " ".join(out.split())
    rows = [line.split()[0] for line in out.split("lifted by", 1)[1].splitlines()[2:4]]
    assert rows == ["80.0", "70.0"]


@pytest.mark.parametrize(
    "heights", ["0:40", "a:b:c", "40:0:5", "0:40:0", "0:40:-5", "0:nan:5", "-500:0:5", "0:400:0.1"]
)
def test_heights_that_are_none_are_refused(capsys, heights):
    assert main(["reach", str(WISHBONE), f"--heights={heights}"]) == 2
    assert "--heights" in capsys.readouterr().err


def test_heights_below_zero_are_higher_than_measured(capsys):
    code, out, _ = outcome(capsys, "reach", WISHBONE, "--heights=-10:0:5")
    assert code == 0
    assert "lifted by" in out
    assert "    10.0" in out


def test_a_page_leads_with_the_kit_that_meets_most_heights_wherever_the_file_has_it(
    tmp_path, capsys
):
    """The washers, first in the file, reach fewer heights of this car than a taller stud does."""
    page = tmp_path / "page.html"
    assert main(["reach", str(WISHBONE), "--kits", str(KITS), "--json"]) in (0, 1)
    answer = json.loads(capsys.readouterr().out)
    met = {kit["name"]: 0 for kit in answer["kits"]}
    for row in answer["heights"]:
        met[row["kit"]] += row["reachable"]
    names = [*met]
    most = max(names, key=lambda name: met[name])
    assert met[most] > met[names[0]]
    assert main(["reach", str(WISHBONE), "--kits", str(KITS), "--page", str(page)]) in (0, 1)
    lines = re.findall(r"(?<=<p>).*(?=</p>)", page.read_text(encoding="utf-8"))
    told = [next(name for name in names if line.startswith(name)) for line in lines[: len(names)]]
    assert told[0] == most
    assert [met[name] for name in told] == sorted(met.values(), reverse=True)
