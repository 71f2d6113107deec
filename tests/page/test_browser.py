"""Pages in a real browser: nothing fetched, nothing wider than a phone, two to four sheets of paper.

Outside sources: Chromium (headless); WCAG 2.2 success criterion 1.4.10 (reflow at 320 CSS pixels) and
2.5.8 (targets of 24 by 24 CSS pixels); ISO 216 and ANSI paper sizes; axe-core, whose rules are
Deque's reading of WCAG; poppler's pdftotext and pdfinfo.
"""

import base64
import json
import re
import shutil
import subprocess
import tarfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from page_cases import FEW, NAMES, ROOT, book, page, plan_and_page, readable, week

from assistant.cli.main import main
from assistant.model.rules import Audience
from assistant.plan.language import read_language

VIEWS: list[tuple[Audience, str]] = [("client", "en"), ("client", "de"), ("coach", "en")]
PAPER_INCHES = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11.0)}


def _open(browser: Any, address: str, width: int = 1280, *, dark: bool = False) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600},
    )
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
    browser.get(address)


def _print(browser: Any, paper: str, folder: Path) -> Path:
    width, height = PAPER_INCHES[paper]
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    printed = browser.execute_cdp_cmd(
        "Page.printToPDF", {"paperWidth": width, "paperHeight": height, "printBackground": True}
    )
    path = folder / f"{paper}.pdf"
    path.write_bytes(base64.b64decode(printed["data"]))
    return path


def _poppler(tool: str, *arguments: str) -> str:
    if shutil.which(tool) is None:
        pytest.skip(f"no {tool} on this machine")
    done = subprocess.run([tool, *arguments], capture_output=True, text=True, check=True)
    return done.stdout


def _sheets(pdf: Path) -> int:
    found = re.search(r"Pages:\s+(\d+)", _poppler("pdfinfo", str(pdf)))
    assert found is not None
    return int(found[1])


def _first_sheet(pdf: Path) -> str:
    text = _poppler("pdftotext", "-f", "1", "-l", "1", "-layout", str(pdf), "-")
    return " ".join(text.split())


def _check_screen(browser: Any, address: str) -> None:
    browser.get_log("performance")
    browser.get_log("browser")
    for width, dark in ((320, False), (390, True), (1280, False)):
        _open(browser, address, width, dark=dark)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width
        # 1.4.10 once more for single texts: none is cut off at the side.
        cut = browser.execute_script(
            "return [...document.querySelectorAll('main *')].filter(e => !e.closest('.for-ears') && "
            "e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 80))"
        )
        assert cut == []
    low = browser.execute_script(
        "return [...document.querySelectorAll('summary')].map(e => e.getBoundingClientRect())"
        ".filter(r => r.height > 0 && (r.height < 24 || r.width < 24)).length"
    )
    assert low == 0
    messages = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    sent = [
        message["params"]["request"]["url"]
        for message in messages
        if message["method"] == "Network.requestWillBeSent"
    ]
    # A browser slow to start still loads its own first page, and some draw pictures of their own; nothing of
    # that leaves the machine.
    asked = [url for url in sent if not url.startswith(("chrome://", "data:"))]
    assert asked, "the browser tells of the page itself"
    assert set(asked) == {address}
    assert browser.get_log("browser") == []


def _check_pictures(browser: Any) -> None:
    """No two texts of a picture lie on each other, and none leaves the picture."""
    wrong = browser.execute_script(
        """
        const wrong = [];
        for (const svg of document.querySelectorAll('svg.picture')) {
          const frame = svg.getBoundingClientRect();
          const boxes = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
          boxes.forEach(([a, p], i) => {
            if (p.left < frame.left - 1 || p.right > frame.right + 1) wrong.push([svg.id, a, 'out']);
            for (const [b, q] of boxes.slice(i + 1))
              if (p.left < q.right - 1 && q.left < p.right - 1 && p.top < q.bottom - 5 && q.top < p.bottom - 5)
                wrong.push([a, b]);
          });
        }
        return wrong;
        """
    )
    assert wrong == []


def _check_paper(browser: Any, name: str, folder: Path) -> None:
    for paper in PAPER_INCHES:
        sheets = _sheets(_print(browser, paper, folder))
        if name == "stop_today":
            assert sheets == 1, "a stop is one message"
        else:
            # Many days with their warm-ups, in German, take a fifth.
            assert 2 <= sheets <= 5, f"{sheets} sheets of {paper}"


@pytest.mark.parametrize(("name", "view"), [*zip(FEW, VIEWS, strict=True)])
def test_a_page_on_phone_screen_and_paper(
    browser: Any, page_file: Callable[[str], str], tmp_path: Path, name: str, view: tuple[Audience, str]
) -> None:  # fmt: skip
    address = page_file(page(name, *view))
    _check_screen(browser, address)
    _check_pictures(browser)
    _check_paper(browser, name, tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("view", VIEWS, ids="-".join)
@pytest.mark.parametrize("name", NAMES)
def test_every_page_on_phone_screen_and_paper(
    browser: Any, page_file: Callable[[str], str], tmp_path: Path, name: str, view: tuple[Audience, str]
) -> None:  # fmt: skip
    test_a_page_on_phone_screen_and_paper(browser, page_file, tmp_path, name, view)


def _check_first_sheet(browser: Any, name: str, address: str, folder: Path, code: str) -> None:
    """What a client must know tomorrow morning: train, eat, sleep, cautions, whom to see."""
    language = read_language(book(), code)
    plan, _ = plan_and_page(name, "client", language)
    lines = {line.id: line for section in plan.sections for line in section.lines}
    programme = week(name)
    _open(browser, address)
    for paper in PAPER_INCHES:
        sheet = re.sub(r"\W+", " ", _first_sheet(_print(browser, paper, folder)))

        def said(text: str, sheet: str = sheet) -> bool:
            words = re.sub(r"\W+", " ", re.sub(r"\d{4}-\d\d-\d\d.*", "", text)).strip()
            return all(word in sheet for word in words.split())

        assert {"en": "13 January", "de": "13 Januar"}[code] in sheet
        assert programme is not None
        day = {"mon": 0, "tue": 1, "wed": 2, "thu": 3, "fri": 4, "sat": 5, "sun": 6}
        # The plans are of a Monday, so tomorrow is Tuesday and the next session is the first from there.
        session = min(programme.sessions, key=lambda s: (day[s.day] - 1) % 7)
        for line in session.lines:
            exercise = language.exercises.get(line.exercise, line.name)
            assert said(exercise), exercise
            assert f"{line.sets} {line.low} {line.high}" in sheet
        for note in programme.notes:
            own = note if code == "en" else language.said()[note]
            assert said(own.partition(" ")[2]), own
        food = [lines[name] for name in ("food.target", "food.protein") if name in lines]
        for line in food or [lines["advice.plain_meals"]]:
            assert said(line.text), line.text
        for name_, line in lines.items():
            if name_.startswith(
                ("screen.flag[", "screen.referral[", "screen.training[", "recovery.sleep")
            ):
                assert said(line.text), line.text


@pytest.mark.parametrize(("name", "code"), [("four_days", "en"), ("refer_first", "de")])
def test_the_first_sheet_says_what_to_do_tomorrow(
    browser: Any, page_file: Callable[[str], str], tmp_path: Path, name: str, code: str
) -> None:
    _check_first_sheet(browser, name, page_file(page(name, "client", code)), tmp_path, code)


@pytest.mark.slow
@pytest.mark.parametrize("code", ["en", "de"])
@pytest.mark.parametrize("name", [name for name in NAMES if name != "stop_today"])
def test_every_first_sheet_says_what_to_do_tomorrow(
    browser: Any, page_file: Callable[[str], str], tmp_path: Path, name: str, code: str
) -> None:
    _check_first_sheet(browser, name, page_file(page(name, "client", code)), tmp_path, code)


# ---- axe-core ----------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the script of axe-core, fetched by npm for this run; it is no part of the project."""
    if shutil.which("npm") is None:
        pytest.skip("no npm to fetch axe-core with")
    folder = tmp_path_factory.mktemp("axe")
    try:
        subprocess.run(
            ["npm", "pack", "axe-core@4", "--silent"],
            cwd=folder, capture_output=True, timeout=60, check=True,
        )  # fmt: skip
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        pytest.skip("axe-core cannot be fetched here")
    with tarfile.open(next(folder.glob("*.tgz"))) as packed:
        script = packed.extractfile("package/axe.min.js")
        assert script is not None
        return script.read().decode("utf-8")


_RUN_AXE = """
const done = arguments[arguments.length - 1];
document.querySelectorAll('details').forEach(part => part.open = true);
axe.run(document, {runOnly: {type: 'tag', values:
  ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}}).then(done);
"""


def _violations(browser: Any, axe: str) -> tuple[list[str], int]:
    browser.execute_script(axe)
    found = browser.execute_async_script(_RUN_AXE)
    wrong = [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found["violations"]]
    return wrong, len(found["passes"])


@pytest.mark.slow
@pytest.mark.parametrize("view", VIEWS, ids="-".join)
@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_no_violation(
    browser: Any, axe: str, page_file: Callable[[str], str], name: str, view: tuple[Audience, str]
) -> None:
    # Colours are the same on every page, so the dark scheme is tried on one case in both views.
    for dark in (False, True) if name == "refer_first" else (False,):
        _open(browser, page_file(page(name, *view)), dark=dark)
        wrong, passed = _violations(browser, axe)
        assert wrong == []
        assert passed > 15


@pytest.mark.slow
@pytest.mark.parametrize("name", ["four_days", "stop_today"])
def test_the_audit_is_as_sound_as_the_page(
    browser: Any, axe: str, tmp_path: Path, name: str
) -> None:
    path = tmp_path / "audit.html"
    main(["audit", str(ROOT / f"cases/{name}.yaml"), "--format", "html", "--out", str(path)])
    _check_screen(browser, path.as_uri())
    wrong, passed = _violations(browser, axe)
    assert wrong == []
    assert passed > 15


@pytest.mark.slow
def test_axe_would_find_a_violation(
    browser: Any, axe: str, page_file: Callable[[str], str]
) -> None:  # fmt: skip
    spoiled = page("four_days").replace('<html lang="en">', "<html>").replace("<h1>", "<h5>")
    _open(browser, page_file(spoiled))
    wrong, _ = _violations(browser, axe)
    assert any(item.startswith("html-has-lang") for item in wrong)


def test_readable_leaves_out_places_and_keeps_words() -> None:
    html = '<p title="seen">a<svg><text x="63.5">b</text><desc>c</desc></svg></p><style>9</style>'
    assert readable(html) == "seen a b c"
