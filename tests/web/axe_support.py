"""The checker axe-core on a page of the server. Outside source: its rules for WCAG 2.2 A and AA, and best practice."""

import subprocess
import tarfile
from pathlib import Path
from typing import Any

_RUN = """async () => {
  document.querySelectorAll('details').forEach(part => part.open = true);
  const found = await axe.run(document, {runOnly: {type: 'tag', values:
    ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}});
  return [found.violations.map(v => v.id + ': ' + v.nodes[0].html.slice(0, 160)), found.passes.length];
}"""
FEWEST_PASSES = 15


def fetched(folder: Path) -> str | None:
    """Return the script of axe-core, fetched by npm for this run; None where it cannot be fetched."""
    try:
        subprocess.run(
            ["npm", "pack", "axe-core@4", "--silent"],
            cwd=folder, capture_output=True, timeout=60, check=True,
        )  # fmt: skip
    except (OSError, subprocess.CalledProcessError, subprocess.TimeoutExpired):
        return None
    with tarfile.open(next(folder.glob("*.tgz"))) as packed:
        script = packed.extractfile("package/axe.min.js")
        assert script is not None
        return script.read().decode("utf-8")


def violations(page: Any, axe: str) -> list[str]:
    """Return what is wrong with the page that a browser shows.

    A click may still be on its way to the next page: the script then ran in a document that is gone.
    So it waits until the page is loaded, and looks again, once, if the page changed underneath.
    """
    wrong, passed = _looked_at(page, axe) or _looked_at(page, axe) or ([], 0)
    assert passed >= FEWEST_PASSES, "the checker hardly looked at anything"
    return list(wrong)


def _looked_at(page: Any, axe: str) -> tuple[list[str], int] | None:
    """Return what is wrong and how much was looked at; None where the page changed meanwhile."""
    page.wait_for_load_state("load")
    before = page.evaluate("performance.timeOrigin")
    try:
        page.evaluate(axe)
        wrong, passed = page.evaluate(_RUN)
    except Exception:
        page.wait_for_load_state("load")
        if page.evaluate("performance.timeOrigin") == before:
            raise
        return None
    return wrong, passed
