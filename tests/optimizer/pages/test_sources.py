"""What a page says of where it comes from."""

import io
import re
import subprocess
import sys

from optimizer.cli.main import main
from tests.optimizer.command_line import CASES, ROOT

STRUT = CASES / "lowered-strut.toml"
DRAWS = {"contourpy", "jinja2", "optimizer.answers.pictures"}


def page(tmp_path, *command):
    place = tmp_path / "page.html"
    assert main([*map(str, command), "--page", str(place), "--overwrite"]) in (0, 1)
    return place.read_text(encoding="utf-8")


def digest(text):
    return re.search(r"\b[0-9a-f]{16}\b", text)[0]


def test_a_case_that_is_piped_in_has_a_page_with_the_digest_of_its_file(tmp_path, monkeypatch):
    of_file = page(tmp_path, "check", STRUT)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(STRUT.read_bytes())))
    piped = page(tmp_path, "check", "-")
    assert "standard input" in piped
    assert digest(piped) == digest(of_file)


def test_a_page_of_suggest_names_the_kits_that_it_rests_on(tmp_path):
    kits = CASES / "kits.toml"
    alone, with_kits = (
        page(tmp_path, "suggest", STRUT),
        page(tmp_path, "suggest", STRUT, "--kits", kits),
    )
    assert kits.name in with_kits
    assert digest(with_kits) != digest(alone)


def test_what_draws_is_loaded_for_pages_only(tmp_path):
    program = (
        "import sys; from optimizer.cli.main import main; main(sys.argv[1:]); "
        "sys.stderr.write(' '.join(sys.modules))"
    )

    def loaded(*more):
        command = [sys.executable, "-c", program, "suggest", STRUT, "--quiet", *more]
        run = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
        return DRAWS & set(run.stderr.split())

    assert not loaded()
    assert loaded("--page", tmp_path / "page.html") == DRAWS
