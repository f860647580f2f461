"""What the README and the guides show is what the program prints; the commands are those of CI."""

import ast
import doctest
import re
import shlex
from pathlib import Path

import pytest

from optimizer.cli.main import main
from optimizer.cli.parser import COMMANDS
from optimizer.wording.glossary import Explained, glossary

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
EVERY_PAGE = [
    README,
    *sorted(ROOT.glob("cases/**/README.md")),
    *sorted(ROOT.glob("optimizer/**/README.md")),
]
SHOWN = re.compile(r"```console\n\$ (pivotwright [^\n]*)\n(.*?)```", re.DOTALL)


LINK = re.compile(r"\]\((?!https?:)([^)#]*)#?([^)]*)\)")
WALKTHROUGH = ROOT / "cases/walkthrough/README.md"  # whose commands write files: its own test
GUIDES = [
    page
    for page in EVERY_PAGE
    if page != WALKTHROUGH and SHOWN.search(page.read_text(encoding="utf-8"))
]


def headings(page: Path) -> set[str]:
    """The anchors of a page's headings."""
    lines = re.findall(r"^#+ (.*)$", page.read_text(encoding="utf-8"), re.M)
    return {re.sub(r"[^\w\- ]", "", line).lower().replace(" ", "-") for line in lines}


def printed(command: str, capsys: pytest.CaptureFixture[str]) -> str:
    main(shlex.split(command)[1:])
    captured = capsys.readouterr()
    return (captured.out + captured.err).strip("\n") + "\n"


@pytest.mark.parametrize("page", GUIDES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_output_in_a_guide_is_what_the_program_prints(
    page: Path,
    request: pytest.FixtureRequest,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(ROOT)
    text = page.read_text(encoding="utf-8")

    def as_printed(block: re.Match[str]) -> str:
        return f"```console\n$ {block[1]}\n{printed(block[1], capsys)}```"

    now = SHOWN.sub(as_printed, text)
    if request.config.getoption("accept_golden"):
        page.write_text(now, encoding="utf-8")
    assert SHOWN.findall(text)
    assert page.read_text(encoding="utf-8") == now, "pytest --accept-golden rewrites the guides"


def test_the_readme_is_short_and_names_every_guide() -> None:
    text = README.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 250
    assert [page for page in EVERY_PAGE[1:] if page.relative_to(ROOT).as_posix() not in text] == []


@pytest.mark.parametrize("page", EVERY_PAGE, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_links_between_the_guides_lead_somewhere(page: Path) -> None:
    links = LINK.findall(page.read_text(encoding="utf-8"))
    for path, heading in links:
        target = page.parent / path if path else page
        assert target.exists(), path
        if heading:
            assert heading in headings(target), f"{path}#{heading}"


def test_the_library_answers_as_the_readme_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    failed, tried = doctest.testfile(str(README), module_relative=False)
    assert tried >= 8
    assert failed == 0


def test_the_readme_names_every_command() -> None:
    text = README.read_text(encoding="utf-8")
    assert [name for name in COMMANDS if f"`pivotwright {name} " not in text] == []


def test_ci_runs_the_test_command_of_the_readme() -> None:
    command = re.search(
        r"^python3 -m venv .*pytest -n auto -m .not slow.$",
        README.read_text(encoding="utf-8"),
        re.M,
    )
    assert command is not None
    assert "grep -m1 '^python3 -m venv .*pytest' README.md" in (ROOT / ".ci/run").read_text(
        encoding="utf-8"
    )


def also(word: Explained) -> str:
    return f" ({', '.join(word.also)})" if word.also else ""


WORDS = re.compile(
    r"(?<=<!-- every word of the glossary -->\n).*(?=<!-- end of the glossary -->)", re.DOTALL
)


def test_the_guide_explains_every_word_of_the_glossary(request: pytest.FixtureRequest) -> None:
    page = ROOT / "optimizer/reports/README.md"
    words = "".join(f"- **{one.word}**{also(one)}: {one.says}\n" for one in glossary().values())
    if request.config.getoption("accept_golden"):
        text = page.read_text(encoding="utf-8")
        page.write_text(WORDS.sub(lambda _: words, text), encoding="utf-8")
    (found,) = WORDS.findall(page.read_text(encoding="utf-8"))
    assert found == words, "pytest --accept-golden rewrites the words"


LISTING = re.compile(
    r"(?<=<!-- every module and its first sentence -->\n```\n)(?:(?!```).)*", re.DOTALL
)


def listing() -> str:
    """Every module, with the first line of its docstring."""
    lines = []
    for package in ("geometry", "optimizer"):
        for path in sorted((ROOT / package).rglob("*.py")):
            if path.name != "__init__.py":
                said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
                name = path.relative_to(ROOT).as_posix()
                lines.append(f"{name:<40} {said.splitlines()[0]}\n")
    return "".join(lines)


def test_developers_md_names_every_module_once_in_the_words_of_its_docstring(
    request: pytest.FixtureRequest,
) -> None:
    page = ROOT / "DEVELOPERS.md"
    text = page.read_text(encoding="utf-8")
    if request.config.getoption("accept_golden"):
        page.write_text(LISTING.sub(listing().replace("\\", "\\\\"), text), encoding="utf-8")
    (found,) = LISTING.findall(page.read_text(encoding="utf-8"))
    assert found == listing(), "pytest --accept-golden rewrites the listing"
