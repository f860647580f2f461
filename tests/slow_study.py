"""A slow study: its cars kept as rows in tests/golden, its table shown by a guide.

--accept-golden puts the table into the guide, and lets the study run where its rows were deleted.
"""

import csv
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
Found = dict[str, Any]  # lists of records, by one key or by several inside each other


@dataclass(frozen=True)
class SlowStudy:
    """Where rows and table are; `keys` head what a row is of, the fields of `record` its figures.

    Figures are whole numbers where no `decimals` are kept.
    """

    name: str
    keys: tuple[str, ...]
    record: type
    decimals: int
    guide: str
    shown: re.Pattern[str]

    @property
    def path(self) -> Path:
        return ROOT / "tests" / "golden" / f"{self.name}.csv"

    def found(self, request: pytest.FixtureRequest, find: Callable[[], Found]) -> Found:
        """What is kept, found now where nothing is and that is to be accepted."""
        if request.config.getoption("accept_golden") and not self.path.exists():
            self.keep(find())
        return self.kept()

    def keep(self, found: Found) -> None:
        """Write what was found, one car a row."""
        with self.path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow([*self.keys, *(field.name for field in fields(self.record))])
            writer.writerows(self._rows(found))

    def _rows(self, found: Found | list[Any], of: tuple[str, ...] = ()) -> Iterator[list[str]]:
        if isinstance(found, list):
            for one in found:
                yield [*of, *(f"{x:.{self.decimals}f}" for x in astuple(one))]
        else:
            for key, inner in found.items():
                yield from self._rows(inner, (*of, key))

    def kept(self) -> Found:
        """Read what was found."""
        found: Found = {}
        number = float if self.decimals else int
        with self.path.open(encoding="utf-8", newline="") as file:
            for row in list(csv.reader(file))[1:]:
                (*outer, last), figures = row[: len(self.keys)], row[len(self.keys) :]
                inner = found
                for key in outer:
                    inner = inner.setdefault(key, {})
                inner.setdefault(last, []).append(self.record(*map(number, figures)))
        return found

    def check_guide(
        self, table: str, request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """Compare the one place of the guide that shows the table with it."""
        guide = ROOT / self.guide
        text = guide.read_text(encoding="utf-8")
        now = self.shown.sub(lambda _: f"```text\n{table}```", text)
        if request.config.getoption("accept_golden"):
            guide.write_text(now, encoding="utf-8")
            with capsys.disabled():
                sys.stdout.write("\n" + table)
        assert len(self.shown.findall(text)) == 1
        assert guide.read_text(encoding="utf-8") == now, "pytest --accept-golden rewrites the guide"
