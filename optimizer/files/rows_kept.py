"""The rows of a screening, kept so that a run that was stopped goes on where it was.

``rows.jsonl`` holds one row a line, and is the record: all rows of a car are appended at once.
``screening.json`` says what the rows are of.  ``rows.csv`` is made from them.
"""

import csv
import json
from collections.abc import Iterable, Iterator, Sequence, Set
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO

from optimizer.errors import PivotwrightError
from optimizer.files.csv_rows import harmless
from optimizer.models.base import quoted
from optimizer.models.screen import ScreenedRow, ScreenedWheel

ROWS, TABLE, PLAN = "rows.jsonl", "rows.csv", "screening.json"
OF_A_WHEEL = [name for name in ScreenedWheel.model_fields if name != "side"]
FIRST = ("case", "car", "layout", "kit", "lowered_by_mm")
OF_THE_CAR = [
    *FIRST,
    *(name for name in ScreenedRow.model_fields if name not in (*FIRST, "wheels")),
]
HEADINGS = [*OF_THE_CAR, *OF_A_WHEEL, *(f"right_{name}" for name in OF_A_WHEEL)]


class KeptRows:
    """A folder of rows, open for one run; use it in a ``with``.

    Parameters
    ----------
    folder : Path
        Made if it isn't there.
    plan : dict
        What every row depends on beside its car.
    of_each : set of (str, float)
        Kit and ride height [mm] of every row that a car has.

    Raises
    ------
    PivotwrightError
        The folder holds something else, rows of another plan, or is in use by another run.
    """

    def __init__(self, folder: Path, plan: dict[str, Any], of_each: Set[tuple[str, float]]) -> None:
        self.folder, self.of_each = folder, of_each
        self.done: dict[str, str] = {}
        self._path = folder / ROWS
        self._new = not self._path.exists()
        self._made = [one for one in (folder, *folder.parents) if not one.exists()]
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._file = self._path.open("ab")
        except OSError as fault:
            raise _unusable(folder, fault) from None
        try:
            _take(self._file, folder)
            self._agree(plan)
            self._mend()
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> "KeptRows":
        """Stay open."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Give the folder free; one in which no car came to be screened is left as it was found."""
        self._file.close()
        if self._new and not self.done:
            with suppress(OSError):  # of what someone else has put there since
                for file in (self._path, self.folder / PLAN):
                    file.unlink(missing_ok=True)
                for folder in self._made:
                    folder.rmdir()

    def forget(self, cases: set[str]) -> None:
        """Drop the rows of some cars, for they have changed since."""
        if cases:
            self._keep(block for block in self._blocks() if block[0]["case"] not in cases)

    def add(self, case: str, digest: str, lines: Sequence[str]) -> None:
        """Append all rows of a car."""
        self._file.write("".join(f"{line}\n" for line in lines).encode())
        self._file.flush()
        self.done[case] = digest

    def rows(self) -> Iterator[ScreenedRow]:
        """Every row, one at a time."""
        with self._path.open("rb") as file:
            for line in file:
                yield ScreenedRow.model_validate_json(line)

    def write_table(self) -> None:
        """Write the rows as CSV, a column a figure; those of a second wheel begin with `right`."""
        begun = self.folder / f"{TABLE}.part"
        with begun.open("w", encoding="utf-8", newline="") as file:
            table = csv.writer(file, lineterminator="\n")
            table.writerow(HEADINGS)
            table.writerows(map(_cells, self._parsed()))
        begun.replace(self.folder / TABLE)

    def _agree(self, plan: dict[str, Any]) -> None:
        """Note what the rows are of, or see that those that are there are of the same."""
        path = self.folder / PLAN
        text = json.dumps(plan, indent=2) + "\n"
        try:
            if not path.exists() and self._path.stat().st_size:
                raise PivotwrightError(f"--to {self.folder}: {ROWS} there is of something else")
            if not path.exists():
                path.write_text(text, encoding="utf-8")
            before = path.read_text(encoding="utf-8", errors="replace")
        except OSError as fault:
            raise _unusable(self.folder, fault) from None
        if before != text:
            raise PivotwrightError(
                f"--to {self.folder}: holds a screening with other kits, heights or another "
                "version; name another folder, or delete this one"
            )

    def _mend(self) -> None:
        """Drop what was not written to its end, or since changed; note which cars are done."""
        end = 0
        for block in self._blocks():
            self.done[block[0]["case"]] = block[0]["digest"]
            end += sum(len(row["line"]) for row in block)
        if end != self._path.stat().st_size:
            self._keep(self._blocks())

    def _blocks(self) -> Iterator[list[dict[str, Any]]]:
        """Rows of each car that has them all, once; `line` is a row as it stands in the file."""
        block: list[dict[str, Any]] = []
        seen: set[str] = set()
        for row in self._parsed():
            if block and row["case"] != block[0]["case"]:
                block = []
            block.append(row)
            if len(block) == len(self.of_each) and row["case"] not in seen and self._whole(block):
                seen.add(row["case"])
                yield block
                block = []

    def _whole(self, block: list[dict[str, Any]]) -> bool:
        """Whether the rows of a car are those that a screening has written."""
        try:
            rows = [ScreenedRow.model_validate_json(row["line"]) for row in block]
        except ValueError:
            return False
        kinds = {(row.kit, row.lowered_by_mm) for row in rows}
        return kinds == self.of_each and len({row.digest for row in rows}) == 1

    def _parsed(self) -> Iterator[dict[str, Any]]:
        with self._path.open("rb") as file:
            for line in file:
                try:
                    row = json.loads(line)
                    known = isinstance(row, dict) and {"case", "digest", "wheels"} <= row.keys()
                except (ValueError, RecursionError):
                    known = False
                if known and line.endswith(b"\n"):
                    yield {**row, "line": line}

    def _keep(self, blocks: Iterable[list[dict[str, Any]]]) -> None:
        """Rewrite the record with some of its cars only."""
        begun = self.folder / f"{ROWS}.part"
        self.done.clear()
        with begun.open("wb") as file:
            for block in blocks:
                self.done[block[0]["case"]] = block[0]["digest"]
                file.writelines(row["line"] for row in block)
        self._file.close()
        begun.replace(self._path)
        self._file = self._path.open("ab")
        _take(self._file, self.folder)


def _cells(row: dict[str, Any]) -> list[Any]:
    wheels = [[_cell(wheel[name]) for name in OF_A_WHEEL] for wheel in row["wheels"]]
    found = [*(_cell(row[name]) for name in OF_THE_CAR), *(x for wheel in wheels for x in wheel)]
    return found + [""] * (len(HEADINGS) - len(found))


def _cell(value: Any) -> Any:
    """What stands in a cell: lists with spaces between, runs and amounts with a colon."""
    if isinstance(value, dict):
        return " ".join(f"{key}:{of}" for key, of in value.items())
    if isinstance(value, list):
        return " ".join(":".join(map(str, x)) if isinstance(x, list) else str(x) for x in value)
    if isinstance(value, bool):
        return str(value).lower()
    return harmless(value) if isinstance(value, str) else value


def _take(file: BinaryIO, folder: Path) -> None:
    """Keep other runs out of a folder until the file is closed, where the system can."""
    try:
        import fcntl
    except ImportError:  # not on Windows
        return
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise PivotwrightError(f"--to {folder}: another run is writing there") from None
    except OSError:  # a file system without locks
        return


def _unusable(folder: Path, fault: OSError) -> PivotwrightError:
    shown = str(folder) if str(folder).isprintable() else quoted(str(folder))
    if isinstance(fault, FileExistsError | NotADirectoryError):
        return PivotwrightError(f"--to {shown}: a file is in the way; name a folder")
    return PivotwrightError(f"--to {shown}: {fault.strerror}")
