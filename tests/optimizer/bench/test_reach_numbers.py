"""The map of `reach` shows a peak in every cell, with the word that keeps it off the tolerance."""

from optimizer.models.reach import ReachResult
from optimizer.reports.reach_cells import reached_in_a_cell
from optimizer.wording.reader import Reader
from tests.optimizer.command_line import CASES, STRUT, answer_of, run


def test_a_cell_has_its_peak_whether_or_not_it_meets_the_tolerance(capsys):
    asked = ("reach", STRUT, "--kits", CASES / "kits.toml")
    run(*asked, "--json")
    answer = answer_of(ReachResult, capsys.readouterr().out)
    reader = Reader(answer.subject)
    missed = [x for x in answer.heights if not x.reachable and x.peak_toe_change_deg is not None]
    assert missed
    run(*asked)
    printed = capsys.readouterr().out
    for row in answer.heights:
        cell, peak = reached_in_a_cell(row, answer, reader), row.peak_toe_change_deg
        number = cell.split()[0]
        assert (peak is None) == number.isalpha()
        if peak is not None:
            assert float(number) == round(peak, 3)
            assert row.reachable == (peak <= answer.tolerance_deg) == (len(cell.split()) == 1)
        assert cell in printed
