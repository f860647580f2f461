"""Pages as a reader sees them: on a phone, on a desk, on paper, and with the sliders moved."""

import json
import re
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Browser, Page

from optimizer import curve, read_case
from optimizer.models.curve import CurveRequest
from optimizer.units import MM_PER_INCH

from .conftest import PageOf, opened

ROOT = Path(__file__).parents[3]
CASES = ROOT / "cases"
READINGS = CASES / "readings" / "lowered-strut.toml"
HERE = Path(__file__).parent
OVERLAPS, FAINT = ((HERE / f"{name}.js").read_text("utf-8") for name in ("overlaps", "faint"))
WIDTHS = (390, 1280)
MARGIN_MM = 13.0  # of the page's style
SCALE = 0.5  # pixels per point of paper
INK = 215  # of 255; small letters are gray at that size
CONTRAST = 4.5  # WCAG 2.1, 1.4.3, normal text
PIXEL_ATOL_DEG = 1e-4  # a path is written to 0.01 of its unit, less than this on every car
OTHER_PAGES = [
    ("gauge", CASES / "lowered-strut.toml", READINGS),
    ("reach", CASES / "track-wishbone.toml", "--kits", CASES / "kits.toml"),
    ("curve", CASES / "two-sided-wishbone.toml"),
    ("check", CASES / "five-link-rear.toml"),
    ("suggest", CASES / "track-wishbone.toml", "--kits", CASES / "kits.toml"),
    ("suggest", CASES / "kit-car-inches.toml", "--custom"),
    ("curve", CASES / "track-wishbone.toml", "--with", CASES / "two-sided-wishbone.toml"),
]


def every_figure_is_seen(page: Page, width: int) -> None:
    figures = page.locator("figure > svg")
    assert figures.count() == page.locator("figure").count()
    for k in range(figures.count()):
        box = figures.nth(k).bounding_box()
        assert figures.nth(k).is_visible()
        assert box is not None
        assert box["width"] > 100
        assert box["height"] > 40
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def looked_over(browser: Browser, path: Path) -> None:
    for width in WIDTHS:
        page = opened(browser, path, width)
        every_figure_is_seen(page, width)
        assert page.evaluate(OVERLAPS) == []
        assert page.evaluate(FAINT, CONTRAST) == []
        page.context.close()


def test_the_page_of_every_demo_car_is_readable_on_a_phone_and_on_a_desk(
    browser: Browser, page_of: PageOf, any_demo_car: Path
) -> None:
    looked_over(browser, page_of("suggest", any_demo_car))


@pytest.mark.parametrize("command", OTHER_PAGES, ids=lambda command: command[0])
def test_the_page_of_every_command_is_readable_on_a_phone_and_on_a_desk(
    browser: Browser, page_of: PageOf, command: tuple[object, ...]
) -> None:
    looked_over(browser, page_of(*command))


def test_every_figure_has_a_text_in_its_place_and_the_numbers_behind_it(
    browser: Browser, page_of: PageOf, any_demo_car: Path
) -> None:
    page = opened(browser, page_of("suggest", any_demo_car))
    figures = page.locator("figure")
    assert figures.count() >= 5
    for k in range(figures.count()):
        alt = figures.nth(k).locator("> svg").get_attribute("aria-label")
        assert alt is not None
        assert len(alt) > 30
        name = figures.nth(k).get_attribute("id") or ""
        tables = figures.nth(k).locator("details table").count()
        assert tables == (0 if name.endswith(("-side", "-plan")) else 1)
    page.context.close()


def filled(bitmap: pypdfium2.PdfBitmap) -> float:
    """How far down the printable height of a sheet the last ink is, as a share of it."""
    rows = bitmap.to_numpy().min(axis=1)
    margin = MARGIN_MM / MM_PER_INCH * 72.0 * SCALE
    return float(((rows < INK).nonzero()[0].max() - margin) / (len(rows) - 2.0 * margin))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_printed_page_but_the_last_ends_with_an_empty_third(
    browser: Browser, page_of: PageOf, any_demo_car: Path, paper: str, tmp_path: Path
) -> None:
    page = opened(browser, page_of("suggest", any_demo_car))
    page.pdf(path=tmp_path / "page.pdf", format=paper)
    page.context.close()
    with pypdfium2.PdfDocument(tmp_path / "page.pdf") as printed:
        shares = [filled(sheet.render(scale=SCALE, grayscale=True)) for sheet in printed]
    assert len(shares) >= 2
    assert [share for share in shares[:-1] if share < 0.66] == []


def test_tables_that_go_on_one_sheet_are_not_split(
    browser: Browser, page_of: PageOf, any_demo_car: Path
) -> None:
    page = opened(browser, page_of("suggest", any_demo_car))
    page.emulate_media(media="print")
    tables = page.evaluate(
        """() => [...document.querySelectorAll("section > .scroll table")].map(t =>
        [t.rows.length, t.offsetHeight, getComputedStyle(t).breakInside])"""
    )
    page.context.close()
    assert len(tables) >= 2
    for rows, height, rule in tables:
        assert rule == ("avoid" if rows <= 20 else "auto")
        assert height < 900 or rows > 20  # CSS pixels; A4 less its margins holds about 1,020


def tried(page: Page, name: str) -> tuple[list[tuple[float, float]], str]:
    """Heights and toe of the curve that the sliders show, in the numbers of the axes."""
    data = json.loads(page.locator(f'script[data-for="{name}"]').text_content() or "")
    drawn = page.locator(f"#{name}-tried").get_attribute("d") or ""
    points = [tuple(map(float, pair.split())) for pair in re.split("[ML]", drawn) if pair]
    says = page.locator(f'form[data-figure="{name}"] [data-says]').text_content() or ""
    return [((x - data["x0"]) / data["kx"], y) for x, y in points], says


def test_the_sliders_show_the_exact_curve_of_the_setting_they_are_moved_to(
    browser: Browser, page_of: PageOf
) -> None:
    case = CASES / "track-wishbone.toml"
    page = opened(browser, page_of("suggest", case))
    assert tried(page, "toe-left")[1].startswith("peak 0.037 deg, tilt left 4.3 deg")
    page.locator("#toe-left-raise").focus()
    for _ in range(2):
        page.keyboard.press("ArrowLeft")
    page.locator("#toe-left-drop").focus()
    page.keyboard.press("Home")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    drop, raised = (
        float((page.locator(f'output[data-of="{key}"]').text_content() or "").split()[0])
        for key in ("drop", "raise")
    )
    assert (drop, raised) != (7.5, 4.0)
    shown, says = tried(page, "toe-left")
    exact = curve(read_case(case), CurveRequest(outer_drop=drop, rack_raise=raised, step=10.0))
    wheel = exact.wheels[0]
    toe = dict(zip(wheel.travel_mm, wheel.toe_deg, strict=True))
    assert shown[0][0] == pytest.approx(toe[-40.0] - toe[0.0], abs=PIXEL_ATOL_DEG)
    assert shown[-1][0] == pytest.approx(toe[40.0] - toe[0.0], abs=PIXEL_ATOL_DEG)
    peak = max(abs(x - toe[0.0]) for x in toe.values())
    assert f"peak {peak:.3f} deg" in says
    page.get_by_role("button").click()
    assert tried(page, "toe-left")[1].startswith("peak 0.037 deg")
    page.context.close()


def test_a_page_reads_without_its_script(browser: Browser, page_of: PageOf) -> None:
    page = opened(browser, page_of("suggest", CASES / "track-wishbone.toml"), script=False)
    every_figure_is_seen(page, 1280)
    assert not page.locator("form.try").first.is_visible()
    page.context.close()


def test_what_a_user_typed_stays_text(browser: Browser, page_of: PageOf, tmp_path: Path) -> None:
    name = '<script>throw "typed"</script> <img src=x onerror=alert(1)> & "name"'
    text = (CASES / "track-wishbone.toml").read_text("utf-8")
    text, times = re.subn(r'^name   = ".*"$', f"name = '{name}'", text, flags=re.M)
    assert times == 1
    case = tmp_path / "typed.toml"
    case.write_text(text, "utf-8")
    page = opened(browser, page_of("suggest", case))
    assert page.locator("h1").text_content() == name
    assert page.title() == name
    page.context.close()
