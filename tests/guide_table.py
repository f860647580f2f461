"""A table that a guide shows as a slow study printed it last; --accept-golden puts it there."""

import re
import sys
from pathlib import Path

import pytest


def check_guide(
    guide: Path,
    shown: re.Pattern[str],
    table: str,
    request: pytest.FixtureRequest,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Compare the one place of a guide that a pattern finds with a table."""
    text = guide.read_text(encoding="utf-8")
    now = shown.sub(lambda _: f"```text\n{table}```", text)
    if request.config.getoption("accept_golden"):
        guide.write_text(now, encoding="utf-8")
        with capsys.disabled():
            sys.stdout.write("\n" + table)
    assert len(shown.findall(text)) == 1
    assert guide.read_text(encoding="utf-8") == now, "pytest --accept-golden rewrites the guide"
