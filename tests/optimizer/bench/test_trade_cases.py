"""Every case that was brought to the bench is typed as its owner would, and answered."""

import re

import pytest

from tests.optimizer.bench.trade_cases import TRADE_CASES
from tests.optimizer.command_line import run

# All that were brought; none is left out of the table.
BROUGHT = {
    *(f"C{number}" for number in range(11, 38)),
    *("N02", "N04", "N05", "N08", "N09", "N12", "N13"),
}
UNANSWERED = {"C11", "C15", "C36"}  # in part; the table says what, and why


def test_the_table_has_every_case_and_names_what_stays_open():
    assert set(TRADE_CASES) == BROUGHT
    assert {name for name, case in TRADE_CASES.items() if case.open} == UNANSWERED


@pytest.mark.parametrize("name", TRADE_CASES)
def test_a_case_of_the_bench_is_answered(name, tmp_path, capsys, monkeypatch):
    case = TRADE_CASES[name]
    monkeypatch.chdir(tmp_path)
    for file, text in case.files:
        (tmp_path / file).write_text(text, encoding="utf-8")
    code = run(*case.command)
    out, err = capsys.readouterr()
    said = " ".join((out + err).split())
    assert code == case.code, said
    for pattern in case.says:
        assert re.search(pattern, said), f"{pattern}\n{said}"
