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

WORDS = {"optimizer.errors", "optimizer.units"}
MODELS = WORDS | {"optimizer.models"}
ALIGNED = MODELS | {
    "geometry",
    "optimizer.adjust",
    "optimizer.aligner",
    "optimizer.alignment",
    "optimizer.remeasured",
}
SCORES = ALIGNED | {"optimizer.evaluate", "optimizer.wanted"}
STRENGTH = {"optimizer.strength", "optimizer.tables"}
WATCHED = {"optimizer.followed", "optimizer.gaps", "optimizer.surroundings", "optimizer.watched"}
CHECKED = SCORES | STRENGTH | WATCHED | {"optimizer.limits", "optimizer.tilts"}
CORE = CHECKED | {
    "optimizer.alignment_effect",
    "optimizer.cautions",
    "optimizer.curve",
    "optimizer.described",
    "optimizer.diagnosis",
    "optimizer.reasons",
    "optimizer.sampled",
    "optimizer.search",
    "optimizer.side_effects",
    "optimizer.uncertainty",
}
REPORTS = {"optimizer.models", "optimizer.units", "optimizer.reports"}

# The first row that fits a module holds: what it may import beside the standard library, rooms and
# packages alike.  A package's own file is called `__init__`, so that no row covers a whole package
# by accident.
TABLE: list[tuple[str, set[str]]] = [
    ("geometry.*", {"geometry", "numpy", "scipy"}),
    ("optimizer.__init__", set()),
    ("optimizer.errors", set()),
    ("optimizer.units", set()),
    ("optimizer.models.*", MODELS | {"pydantic", "pydantic_core"}),
    ("optimizer.tables.*", MODELS),
    ("optimizer.starters.*", MODELS),
    ("optimizer.toml_file", WORDS),
    ("optimizer.csv_rows", WORDS | {"optimizer.toml_file"}),
    ("optimizer.case_file", MODELS | {"optimizer.toml_file", "pydantic"}),
    ("optimizer.readings_file", MODELS | {"optimizer.csv_rows", "optimizer.toml_file", "pydantic"}),
    ("optimizer.corrected_case", MODELS | {"tomlkit"}),
    ("optimizer.point_table", MODELS | {"optimizer.csv_rows", "optimizer.starters", "tomlkit"}),
    ("optimizer.adjust", MODELS | {"geometry", "numpy"}),
    ("optimizer.remeasured", MODELS | {"geometry", "optimizer.adjust", "numpy"}),
    ("optimizer.aligner", ALIGNED | {"numpy"}),
    ("optimizer.alignment", ALIGNED | {"numpy"}),
    ("optimizer.wanted", MODELS | {"geometry", "numpy"}),
    ("optimizer.evaluate", ALIGNED | {"optimizer.wanted", "numpy"}),
    ("optimizer.alignment_effect", SCORES | {"numpy"}),
    ("optimizer.strength", MODELS | {"geometry", "optimizer.tables", "numpy"}),
    ("optimizer.surroundings", SCORES | {"numpy"}),
    ("optimizer.watched", {"geometry", "numpy"}),
    ("optimizer.gaps", SCORES | {"optimizer.surroundings", "optimizer.watched", "numpy"}),
    ("optimizer.followed", SCORES | {"optimizer.watched", "numpy"}),
    ("optimizer.tilts", SCORES | {"numpy"}),
    ("optimizer.limits", CHECKED | {"numpy"}),
    ("optimizer.reasons", CHECKED | {"numpy"}),
    ("optimizer.cautions", MODELS),
    ("optimizer.diagnosis", MODELS | {"geometry", "numpy"}),
    ("optimizer.looked_at", SCORES | {"numpy"}),
    ("optimizer.gradients", SCORES | {"optimizer.looked_at", "numpy"}),
    (
        "optimizer.curve",
        SCORES
        | {
            "optimizer.alignment_effect",
            "optimizer.looked_at",
            "optimizer.tilts",
            "numpy",
        },
    ),
    ("optimizer.described", CHECKED | {"optimizer.curve", "optimizer.reasons", "numpy"}),
    ("optimizer.sampled", SCORES | {"numpy"}),
    (
        "optimizer.side_effects",
        SCORES | {"optimizer.gradients", "optimizer.looked_at", "numpy"},
    ),
    ("optimizer.uncertainty", SCORES | {"optimizer.sampled", "numpy"}),
    (
        "optimizer.search.*",
        CHECKED | {"optimizer.search", "numpy", "optuna", "scipy", "sqlalchemy"},
    ),
    ("optimizer.odd_points", SCORES | {"numpy"}),
    ("optimizer.plausibility", CORE | {"optimizer.odd_points", "numpy"}),
    ("optimizer.kits", CORE | {"optimizer.toml_file", "numpy", "pydantic"}),
    ("optimizer.blocked", CORE | {"numpy"}),
    ("optimizer.reach", CORE | {"optimizer.blocked", "optimizer.kits", "numpy"}),
    ("optimizer.pivot_tolerance", SCORES | {"optimizer.limits", "numpy"}),
    (
        "optimizer.custom",
        CORE | {"optimizer.looked_at", "optimizer.kits", "optimizer.pivot_tolerance", "numpy"},
    ),
    ("optimizer.shopping", CORE | {"numpy"}),
    ("optimizer.suggest", CORE | {"optimizer.custom", "optimizer.shopping", "numpy", "scipy"}),
    ("optimizer.kit_ranking", CORE | {"optimizer.kits", "optimizer.suggest", "numpy"}),
    ("optimizer.sheet", CORE | {"optimizer.suggest", "numpy"}),
    ("optimizer.gauge.*", CORE | {"optimizer.gauge", "numpy", "scipy"}),
    (
        "optimizer.sides.*",
        CORE
        | {"optimizer.gauge", "optimizer.kits", "optimizer.plausibility", "optimizer.reach"}
        | {"optimizer.kit_ranking", "optimizer.sides", "optimizer.suggest", "numpy"},
    ),
    ("optimizer.reports.terminal*", REPORTS | {"rich"}),
    ("optimizer.reports.*", REPORTS),
    ("optimizer.cli.*", {"optimizer", "rich"}),
]


def module_name(file: Path) -> str:
    return ".".join(file.relative_to(HOUSE).with_suffix("").parts)


MODULES = {
    module_name(file): file
    for package in PACKAGES
    for file in sorted((HOUSE / package).rglob("*.py"))
}


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
        ("optimizer.models.case", "from optimizer import adjust", "optimizer.adjust"),
        ("optimizer.models.case", "from ..evaluate import Evaluator", "optimizer.evaluate"),
        ("optimizer.evaluate", "import optuna.samplers", "optuna"),
        ("optimizer.evaluate", "from optimizer.search import study", "optimizer.search.study"),
        ("optimizer.suggest", "def f():\n    import rich", "rich"),
        ("optimizer.suggest", "if TYPE_CHECKING:\n    from rich import box", "rich"),
        ("optimizer.suggest", "from optimizer.reports import words", "optimizer.reports.words"),
        ("optimizer.suggest", "import_module('optuna')", "<import_module('optuna')>"),
        ("optimizer.reports.words", "from rich.text import Text", "rich.text"),
        ("optimizer.reports.terminal", "from geometry import motion", "geometry.motion"),
        ("optimizer.reports.words", "from optimizer import evaluate", "optimizer.evaluate"),
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
        ("optimizer.search.study", "import optuna"),
        ("optimizer.reports.terminal", "from rich.table import Table"),
        ("optimizer.reports.terminal_gauge", "from rich.table import Table"),
        ("optimizer.cli.curve", "from optimizer import suggest\nfrom rich import console"),
        ("optimizer.models.case", "from ..errors import Fault\nfrom . import base"),
    ],
)
def test_an_import_within_the_table_is_let_through(module, source):
    assert forbidden_imports(module, source) == []


def test_a_module_that_no_row_covers_is_found():
    assert row_of("optimizer.a_new_room") is None
    assert row_of("optimizer.models_too") is None
