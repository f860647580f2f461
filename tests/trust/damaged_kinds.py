"""What is damaged: every kind of file and of argument, for every command that takes it."""

import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import read_car
from optimizer.options.study.run import StudyPlan
from tests.conftest import EVERY_DEMO_CAR
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, process
from tests.optimizer.gauging.garage_cars import STRUT as POINTS

from .damage import damaged
from .forked import Run

READINGS = CASES / "readings"
KITS = CASES / "kits.toml"
ARGUMENT = "{damaged}"  # stands in a command for the damaged text itself
THOUSAND = 1000
POINTS_CSV = "\n".join(["name,x,y,z", *(f"{a},{x},{y},{z}" for a, (x, y, z) in POINTS.items())])
CARS_CSV = (
    "like,name,ride.lowered_by,points.tie_rod_outer.z,points.tie_rod_inner.z\n"
    "whole.toml,Invented 1,10,255,270\nwhole.toml,Invented 2,30,260,266\n"
)


@dataclass(frozen=True)
class Kind:
    """What is damaged, under which name it stands, what else is beside it, and the command.

    Of a thousand trials `share` are of this kind; it is the smaller, the longer an answer takes.
    """

    name: str
    file: str
    sources: list[bytes]
    command: tuple[object, ...]
    share: int
    beside: dict[str, bytes] = field(default_factory=dict)

    def run(self, seed: int, number: int, folder: Path) -> Run:
        """A run with one file or argument damaged, in a new folder; the same for the same seed."""
        rng = random.Random(f"{seed} {self.name} {number}")
        content = damaged(rng.choice(self.sources), rng)
        folder.mkdir()
        for name, whole in self.beside.items():
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_bytes(whole)
        words = [str(word) for word in self.command]
        if self.file == ARGUMENT:
            text = content.replace(b"\0", b"").decode("utf-8", "surrogateescape")
            words = [word.replace(ARGUMENT, text) for word in words]
        else:
            (folder / self.file).parent.mkdir(exist_ok=True)
            (folder / self.file).write_bytes(content)
        return Run(tuple(words), folder)


def kinds(folder: Path) -> list[Kind]:
    """Every kind, a thousand trials of all; what must be made first is made in a folder."""
    cars = [path.read_bytes() for path in EVERY_DEMO_CAR]
    strut, kits = STRUT.read_bytes(), KITS.read_bytes()
    sweep = (READINGS / "lowered-strut.toml").read_bytes()
    pointless = (READINGS / "no-points.toml").read_bytes()
    rows = (READINGS / "no-points.csv").read_bytes()
    survey = (CASES / "surveys" / "inch-coupe.toml").read_bytes()
    case, with_kits, low = "car.toml", ("--kits", "k.toml"), ("--heights", "0:0:1")
    screened = (*low, "--workers", "1", "--to", "to")
    rows_kept, plan = screening(folder)
    return [
        Kind("case, check", case, cars, ("check", case), 240),
        Kind("case, curve", case, cars, ("curve", case, "--json"), 110),
        Kind("case, curve --with", case, cars, ("curve", STRUT, "--with", case), 30),
        Kind("case, suggest", case, cars, ("suggest", case, "--json"), 30),
        Kind("case, suggest --custom", case, cars, ("suggest", case, "--custom"), 5),
        Kind("case, suggest --rank-by", case, cars, ("suggest", case, "--rank-by", "worst"), 5),
        Kind("case, reach", case, cars, ("reach", case, "--heights", "0:20:10", "--json"), 20),
        Kind("case, sheet", case, cars, ("sheet", case, "--text"), 20),
        Kind("case, pages", case, cars, ("check", case, "--page", "out.html"), 10),
        Kind("case, gauge", case, [strut], ("gauge", case, READINGS / "lowered-strut.toml"), 20),
        Kind("case, screen", case, cars, ("screen", case, "--kits", KITS, *screened), 2),
        Kind("kits, suggest", "k.toml", [kits], ("suggest", WISHBONE, *with_kits), 30),
        Kind("kits, reach", "k.toml", [kits], ("reach", WISHBONE, *with_kits, *low), 30),
        Kind("kits, screen", "k.toml", [kits], ("screen", WISHBONE, *with_kits, *screened), 2),
        Kind("readings, gauge with a case", "r.toml", [sweep], ("gauge", STRUT, "r.toml"), 20),
        Kind(
            *("readings, gauge --write", "r.toml", [sweep]),
            *(("gauge", STRUT, "r.toml", "--write", "new.toml"), 10),
        ),
        Kind(
            *("readings, gauge", "r.toml", [pointless], ("gauge", "r.toml", "--json"), 70),
            {"no-points.csv": rows},
        ),
        Kind(
            *("CSV of readings, gauge", "no-points.csv", [rows], ("gauge", "whole.toml"), 80),
            {"whole.toml": pointless},
        ),
        Kind("survey, survey", "s.toml", [survey], ("survey", "s.toml", "--json"), 70),
        Kind(
            *("survey, survey --sheet", "s.toml", [survey]),
            *(("survey", "s.toml", "--sheet", "list.txt"), 10),
        ),
        Kind(
            *("table of points, new", "p.csv", [POINTS_CSV.encode()]),
            *(("new", "strut", "--points", "p.csv"), 85),
        ),
        Kind(
            *("table of cars, screen", "cars.csv", [CARS_CSV.encode()]),
            *(("screen", "cars.csv", "--kits", KITS, *screened), 4, {"whole.toml": strut}),
        ),
        Kind(
            *("record of a screening, screen", "to/rows.jsonl", [rows_kept]),
            *(("screen", WISHBONE, "--kits", KITS, *screened), 4, {"to/screening.json": plan}),
        ),
        Kind(
            *("plan of a screening, screen", "to/screening.json", [plan]),
            *(("screen", WISHBONE, "--kits", KITS, *screened), 3, {"to/rows.jsonl": rows_kept}),
        ),
        Kind(
            *("record of a study, suggest", "s.log", [record(folder)]),
            *(("suggest", WISHBONE, "--study", "s.log"), 10),
        ),
        *arguments(),
    ]


def arguments() -> list[Kind]:
    """Commands with an argument damaged."""
    heights, lengths = [b"0:20:10", b"-10:10:5mm", b"0in:1in:1/4in"], [b"9.5", b"3/8in", b"12mm"]
    curve, car = ("curve", STRUT), STRUT.read_bytes()
    return [
        Kind(f"argument, {name}", ARGUMENT, sources, command, share, {"car.toml": car})
        for name, sources, command, share in (
            ("curve", lengths, (*curve, f"--outer-drop={ARGUMENT}"), 10),
            ("curve --with", [b"drop 12, rack 3", b"drop 3/8in"], (*curve, "--with", ARGUMENT), 10),
            ("reach", heights, ("reach", WISHBONE, f"--heights={ARGUMENT}"), 10),
            ("suggest", [b"6", b"0", b"12"], ("suggest", WISHBONE, f"--show={ARGUMENT}"), 5),
            ("check", [b"car.toml", b"./car.toml"], ("check", ARGUMENT), 5),
            ("new", [b"strut", b"five-link", b"readings"], ("new", ARGUMENT), 10),
            ("explain", [b"slope", b"outer drop"], ("explain", ARGUMENT), 10),
            ("schema", [b"case", b"answer"], ("schema", ARGUMENT), 10),
            ("completion", [b"bash", b"zsh", b"fish"], ("completion", ARGUMENT), 10),
        )
    ]


def record(folder: Path) -> bytes:
    """A study's record, whole."""
    place = folder / "record.log"
    suggest(read_car(WISHBONE), plan=SuggestPlan(StudyPlan(storage=str(place))))
    return place.read_bytes()


def screening(folder: Path) -> tuple[bytes, bytes]:
    """A screening's record and its plan, whole."""
    words = ("screen", WISHBONE, "--kits", KITS, "--heights", "0:0:1", "--workers", 1)
    assert process(*words, "--to", folder / "to").returncode == 0
    return tuple((folder / "to" / name).read_bytes() for name in ("rows.jsonl", "screening.json"))


def trials(
    every: list[Kind], folder: Path, seed: int, thousands: int
) -> Iterator[tuple[Kind, int, Run]]:
    """Trials of every kind, each in a folder of its own, made when its turn comes."""
    for kind in every:
        for number in range(kind.share * thousands):
            place = folder / f"{every.index(kind)}-{number}"
            yield kind, number, kind.run(seed, number, place)


def forget(run: Run) -> None:
    """Remove the folder of a run that went well."""
    shutil.rmtree(run.folder)
