"""The report in a real browser: no error, no overflow at any width, every table and picture reachable, prints to A4.

    LITDIODE_SCREENSHOTS=folder .venv/bin/python -m pytest tests/python/test_report_in_browser.py

keeps the screenshots and the PDF.
"""

from __future__ import annotations

import base64
import os
import re
import shutil
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

import litdiode as ld

pytest.importorskip("jinja2")
pytest.importorskip("matplotlib")
webdriver = pytest.importorskip("selenium.webdriver")

BROWSER = next((p for n in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(n))), None)
DRIVER = shutil.which("chromedriver")
pytestmark = [
    pytest.mark.skipif(not (BROWSER and DRIVER), reason="neither chromium nor chromedriver is installed"),
    pytest.mark.filterwarnings("ignore"),
]
WIDTHS = (360, 768, 1280)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    sweeps = ld.read_sweeps(str(resources.files("litdiode") / "demo"))
    groups = {"soot": ["soot_*"], "graphite": ["graphite_*"]}
    asked = {"title": "Demo", "figures": ["efficiency", "ff"], "margins": 0.05, "diodes": 1, "resistances": True}
    study = ld.Study(sweeps, groups=groups, **asked)
    return study.report(folder / "report.html")


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    for argument in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--hide-scrollbars"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    from selenium.webdriver.chrome.service import Service

    service = Service(executable_path=DRIVER)
    made = webdriver.Chrome(options=options, service=service)
    yield made
    made.quit()


def shown(driver: Any, page: Path, width: int) -> None:
    # A window of a desktop has a least width, a screen that is emulated has none.
    screen = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 700}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    driver.get(page.as_uri())


def kept(name: str, data: bytes) -> None:
    folder = os.environ.get("LITDIODE_SCREENSHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        (Path(folder) / name).write_bytes(data)


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_wider_than_the_screen(driver: Any, page: Path, width: int) -> None:
    shown(driver, page, width)
    assert driver.execute_script("return window.innerWidth") == width
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width
    # What is wider scrolls in a box of its own.
    out = """return [...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right >
        innerWidth + 1 && !e.closest(".wide")).map(e => e.tagName + " " + e.textContent.slice(0, 40))"""
    assert driver.execute_script(out) == []
    errors = [line for line in driver.get_log("browser") if line["level"] in ("SEVERE", "WARNING")]
    assert errors == []
    whole = driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True, "format": "png"})
    data = base64.b64decode(whole["data"])
    kept(f"report_{width}.png", data)
    assert len(data) > 50_000


def test_pictures_are_drawn_and_described(driver: Any, page: Path) -> None:
    shown(driver, page, 1280)
    images = driver.execute_script(
        "return [...document.images].map(i => [i.alt, i.complete, i.naturalWidth, i.getBoundingClientRect().width])"
    )
    assert len(images) == 5
    for alt, complete, natural, wide in images:
        assert len(alt) > 30 and complete and natural > 300 and wide > 300


def test_the_outline_is_in_order_and_tables_have_scopes(driver: Any, page: Path) -> None:
    shown(driver, page, 1280)
    levels = driver.execute_script("return [...document.querySelectorAll('h1,h2,h3')].map(h => +h.tagName[1])")
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in zip(levels, levels[1:], strict=False))
    assert driver.execute_script("return document.documentElement.lang") == "en"
    bare = "return [...document.querySelectorAll('th:not([scope])')].length"
    assert driver.execute_script(bare) == 0
    assert driver.execute_script("return [...document.querySelectorAll('table')].every(t => t.caption)")
    assert driver.execute_script("return document.scripts.length") == 0
    # Every row of a table has as many cells as its heading.
    odd = """return [...document.querySelectorAll("table")].filter(t => new Set([...t.rows].map(r =>
        [...r.cells].reduce((n, c) => n + c.colSpan, 0))).size > 1).length"""
    assert driver.execute_script(odd) == 0


CONTRAST = """
const light = c => { const v = c.map(x => { x /= 255; return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4 });
  return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2] };
const parts = s => s.match(/[\\d.]+/g).map(Number);
const behind = e => { for (; e; e = e.parentElement) { const c = parts(getComputedStyle(e).backgroundColor);
  if (c.length < 4 || c[3] > 0) return c } return [255, 255, 255] };
return [...document.querySelectorAll("body *")].filter(e => [...e.childNodes].some(n => n.nodeType == 3 &&
  n.textContent.trim())).map(e => { const a = light(parts(getComputedStyle(e).color)), b = light(behind(e));
  return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.tagName + "." + e.className] });
"""


def test_every_text_stands_out(driver: Any, page: Path) -> None:
    shown(driver, page, 1280)
    found = driver.execute_script(CONTRAST)
    assert len(found) > 200 and min(found)[0] >= 4.5, min(found)


def test_it_prints_on_a4(driver: Any, page: Path) -> None:
    shown(driver, page, 1280)
    asked = {"preferCSSPageSize": True, "printBackground": True}
    printed = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", asked)["data"])
    kept("report.pdf", printed)
    sizes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", printed)
    assert 3 <= len(sizes) <= 12
    # A4 is 595.3 × 841.9 points.
    assert all(abs(float(w) - 595.3) < 2 and abs(float(h) - 841.9) < 2 for w, h in sizes)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    # The width of A4 less its margins, at 96 pixels an inch.
    paper = {"width": 695, "height": 1010, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", paper)
    beyond = "return [...document.querySelectorAll('table')].map(t => t.getBoundingClientRect().right - innerWidth)"
    wide = driver.execute_script(beyond)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert max(wide) <= 0, wide
