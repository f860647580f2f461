"""Which module may import which: the table that keeps geometry, models and reports apart.

Read with `ast`, so an import inside a function counts, and so does one for type checkers only.
"""

import ast
import sys
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent
PACKAGES = ("geometry", "optimizer")

FLAT = {"optimizer.errors", "optimizer.units"}
WORDS = FLAT | {"msgspec"}
MODELS = WORDS | {"optimizer.models"}
WORDING = MODELS | {"optimizer.wording"}
CAR = MODELS | {"geometry", "optimizer.car", "numpy", "optimizer.wording.faults"}
LIMITS = CAR | {"optimizer.limits"}
OPTIONS = LIMITS | {"optimizer.options"}
SCREENING = OPTIONS | {"optimizer.answers", "optimizer.files", "optimizer.screening"}
REPORTS = WORDING | {"optimizer.reports"}

LONG, FLOORS = 300, 9  # lines of a module that few exceed; rooms one upon another

BY_FAMILY = "<import_module(f'optimizer.wording.{WORDS[family]}')>"

# One row a room: what its modules may import beside the standard library, rooms and packages alike.
# The first row that fits a module holds.  A package's own file is called `__init__`, so that no row
# covers a whole package by accident.
TABLE: list[tuple[str, set[str]]] = [
    ("geometry.*", {"geometry", "numpy", "scipy"}),
    ("optimizer.__init__", {"optimizer", "<import_module(ROOMS[name])>"}),
    ("optimizer.errors", set()),
    ("optimizer.units", set()),
    ("optimizer.models.*", MODELS | {"pydantic", "pydantic_core"}),
    ("optimizer.wording.sentences", WORDING | {BY_FAMILY}),
    ("optimizer.wording.*", WORDING),
    ("optimizer.files.*", MODELS | {"optimizer.files", "pydantic", "tomlkit"}),
    ("optimizer.car.*", CAR),
    ("optimizer.limits.*", LIMITS),
    ("optimizer.options.study.*", OPTIONS | {"optuna", "sqlalchemy"}),
    ("optimizer.options.moves.*", OPTIONS | {"highspy", "optuna"}),
    ("optimizer.options.*", OPTIONS),
    ("optimizer.surveying.*", MODELS | {"geometry", "numpy", "optimizer.surveying"}),
    ("optimizer.answers.*", OPTIONS | {"optimizer.answers", "optimizer.files"}),
    ("optimizer.gauging.*", OPTIONS | {"optimizer.gauging", "optimizer.wording.refused_readings"}),
    ("optimizer.screening.crews", SCREENING | {"<import_module('distributed')>"}),
    ("optimizer.screening.*", SCREENING),
    ("optimizer.reports.as_json", REPORTS | {"pydantic"}),
    ("optimizer.reports.terminal*", REPORTS | {"rich"}),
    ("optimizer.reports.pages.*", REPORTS | {"contourpy", "ezdxf", "jinja2", "resvg_py"}),
    ("optimizer.reports.*", REPORTS),
    ("optimizer.cli.*", {"argcomplete", "msgspec", "optimizer", "rich"}),
]


def module_name(file: Path) -> str:
    return ".".join(file.relative_to(HOUSE).with_suffix("").parts)


MODULES = {
    module_name(file): file
    for package in PACKAGES
    for file in sorted((HOUSE / package).rglob("*.py"))
}


def room_of(module: str) -> str:
    """The folder of a module below its package, the module itself where it lies flat."""
    package, *inner = module.split(".")
    return package if package != "optimizer" else ".".join([package, *inner[:1]])


def is_module(name: str) -> bool:
    return name in MODULES or f"{name}.__init__" in MODULES


def imported_names(module: str, source: str) -> Iterator[str]:
    """Every module that a source imports, wherever it stands, by its full name.

    ``from a import b`` imports `a.b` where that is a module, and something of `a` otherwise.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(module.split(".")[: -node.level]) if node.level else ""
            origin = ".".join(part for part in (base, node.module) if part)
            for alias in node.names:
                inner = f"{origin}.{alias.name}"
                yield inner if is_module(inner) else origin
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith(
            ("import_module", "__import__")
        ):
            yield f"<{ast.unparse(node)}>"  # by a name that no table can read


def row_of(module: str) -> set[str] | None:
    return next((allowed for pattern, allowed in TABLE if fnmatchcase(module, pattern)), None)


def forbidden_imports(module: str, source: str) -> list[str]:
    """Imports that a module's row does not allow; all of them where no row covers it."""
    allowed = row_of(module) or set()
    return [
        name
        for name in imported_names(module, source)
        if name.partition(".")[0] not in sys.stdlib_module_names
        and not any(name == room or name.startswith(f"{room}.") for room in allowed)
    ]


@pytest.mark.parametrize("module", MODULES)
def test_every_module_is_covered_by_a_row_of_the_table(module):
    assert row_of(module) is not None


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_only_what_its_row_allows(module):
    assert forbidden_imports(module, MODULES[module].read_text(encoding="utf-8")) == []


def test_ninety_nine_of_a_hundred_modules_are_short():
    lines = [len(file.read_text(encoding="utf-8").splitlines()) for file in MODULES.values()]
    assert sum(count > LONG for count in lines) <= len(lines) // 100


def test_rooms_import_downward_only_and_stand_on_nine_floors():
    rooms: dict[str, set[str]] = {}
    for module, file in MODULES.items():
        names = imported_names(module, file.read_text(encoding="utf-8"))
        rooms.setdefault(room_of(module), set()).update(map(room_of, names))

    def floor(room: str, *above: str) -> int:
        assert room not in above, f"{room} imports itself by way of {', '.join(above)}"
        below = rooms[room] & rooms.keys() - {room}
        return 1 + max((floor(one, room, *above) for one in below), default=0)

    assert max(floor(room) for room in rooms.keys() - {"optimizer.__init__"}) <= FLOORS


def test_nothing_lies_flat_but_the_library_face_errors_and_units():
    flat = {name for name in MODULES if fnmatchcase(name, "optimizer.*") and name.count(".") == 1}
    assert flat == {"optimizer.__init__", *FLAT}


def test_both_packages_are_found():
    assert {name.partition(".")[0] for name in MODULES} == set(PACKAGES)
    assert {"geometry.motion", "optimizer.__init__", "optimizer.cli.main"} <= set(MODULES)


@pytest.mark.parametrize(
    ("module", "source", "found"),
    [
        ("geometry.motion", "import optimizer.units", "optimizer.units"),
        ("geometry.motion", "from optimizer import units", "optimizer.units"),
        ("geometry.motion", "import optuna", "optuna"),
        ("geometry.linkages.strut", "from ...optimizer import units", "optimizer.units"),
        ("optimizer.models.case", "import numpy as np", "numpy"),
        ("optimizer.models.case", "from optimizer.car import adjust", "optimizer.car.adjust"),
        ("optimizer.models.case", "from ..car.evaluate import Evaluator", "optimizer.car.evaluate"),
        ("optimizer.car.evaluate", "import optuna.samplers", "optuna"),
        (
            "optimizer.car.evaluate",
            "from optimizer.options.study import search",
            "optimizer.options",
        ),
        ("optimizer.answers.suggest", "def f():\n    import rich", "rich"),
        ("optimizer.answers.suggest", "if TYPE_CHECKING:\n    from rich import box", "rich"),
        (
            "optimizer.answers.suggest",
            "from optimizer.reports import sketch",
            "optimizer.reports.sketch",
        ),
        ("optimizer.answers.suggest", "import_module('optuna')", "<import_module('optuna')>"),
        ("optimizer.reports.sketch", "from rich.text import Text", "rich.text"),
        ("optimizer.reports.terminal", "from geometry import motion", "geometry.motion"),
        (
            "optimizer.reports.sketch",
            "from optimizer.car import evaluate",
            "optimizer.car.evaluate",
        ),
        ("optimizer.cli.curve", "import numpy", "numpy"),
        ("optimizer.cli.curve", "from geometry.motion import Rod", "geometry.motion"),
        ("optimizer.a_new_room", "import numpy", "numpy"),
        ("optimizer", "import numpy", "numpy"),
    ],
)
def test_an_import_against_the_table_is_found_however_it_is_written(module, source, found):
    assert [name for name in forbidden_imports(module, source) if name.startswith(found)]


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("geometry.motion", "import numpy.linalg\nfrom scipy import optimize"),
        ("optimizer.options.study.search", "import optuna"),
        ("optimizer.reports.terminal", "from rich.table import Table"),
        ("optimizer.reports.terminal_gauge", "from rich.table import Table"),
        ("optimizer.cli.curve", "from optimizer.answers import suggest\nfrom rich import console"),
        ("optimizer.models.case", "from ..errors import Fault\nfrom . import base"),
    ],
)
def test_an_import_within_the_table_is_let_through(module, source):
    assert forbidden_imports(module, source) == []


def test_a_module_that_no_row_covers_is_found():
    assert row_of("optimizer.a_new_room") is None
    assert row_of("optimizer.models_too") is None
