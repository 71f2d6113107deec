"""The log sheet on paper: one sheet a session, A4 across, nothing fetched.

Outside sources: Chromium (headless), poppler's pdfinfo, ISO 216.
"""

import base64
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main

CASES = Path(__file__).parents[2] / "cases"


@pytest.mark.parametrize("name", ["older_lifter", "six_days"])
def test_a_session_fits_a_sheet(
    name: str, browser: Any, page_file: Callable[[str], str], tmp_path: Path
) -> None:
    if shutil.which("pdfinfo") is None:
        pytest.skip("no pdfinfo on this machine")
    sheet = tmp_path / "sheet.html"
    words = ["week", str(CASES / f"{name}.yaml"), "--log-sheet", "--format", "html"]
    assert main([*words, "--out", str(sheet)]) == 0
    html = sheet.read_text("utf-8")
    browser.get(page_file(html))
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    pdf = tmp_path / "sheet.pdf"
    pdf.write_bytes(base64.b64decode(printed["data"]))
    told = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    pages = re.search(r"Pages:\s+(\d+)", told)
    assert pages is not None
    assert int(pages[1]) == html.count("<section")
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", told)
    assert size is not None
    assert [round(float(side) / 72 * 25.4) for side in size.groups()] == [297, 210]
