"""Maps of tilt and gap: the tints are told in the case's own unit."""

import pytest

from optimizer.cli.main import main
from tests.optimizer.command_line import CASES


@pytest.mark.parametrize(
    ("case", "told"),
    [
        ("track-wishbone", "10, 5, 2 and 0 deg or mm to the limit"),
        ("kit-car-inches", "10, 5, 2 and 0 deg, or 0.4, 0.2, 0.08 and 0 in to the limit"),
    ],
)
def test_the_key_of_a_map_tells_what_is_left_in_the_unit_of_the_case(tmp_path, case, told):
    page = tmp_path / "page.html"
    assert main(["suggest", str(CASES / f"{case}.toml"), "--page", str(page)]) in (0, 1)
    assert f"the darker, the less is left: {told}" in page.read_text(encoding="utf-8")
