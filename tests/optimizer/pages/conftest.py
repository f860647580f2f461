"""A real browser without a window, and the pages of the demo cars."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from optimizer.cli.main import main

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
NO_BROWSER = "no Chromium on this machine: apt-get install chromium"


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, without which pages can't be tried; only CI insists on it."""
    if CHROMIUM is None:
        if "CI" in os.environ:
            pytest.fail(NO_BROWSER)
        pytest.skip(NO_BROWSER)
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield found
        found.close()


@pytest.fixture(scope="session")
def page_of(tmp_path_factory: pytest.TempPathFactory) -> "PageOf":
    """Files of pages, each made once."""
    return PageOf(tmp_path_factory.mktemp("pages"))


class PageOf:
    """Pages by the command that makes them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.made: dict[tuple[str, ...], Path] = {}

    def __call__(self, *command: object) -> Path:
        """Path of the page that a command writes."""
        key = tuple(map(str, command))
        if key not in self.made:
            path = self.folder / f"{len(self.made)}.html"
            assert main([*key, "--page", str(path)]) in (0, 1)
            self.made[key] = path
        return self.made[key]


def opened(browser: Browser, path: Path, width: int = 1280, *, script: bool = True) -> Page:
    """A page in the browser, which must ask for nothing else and have nothing to complain of."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, java_script_enabled=script
    )
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    assert complaints == []
    assert [url for url in asked if not url.startswith("data:")] == [path.as_uri()]
    return page
