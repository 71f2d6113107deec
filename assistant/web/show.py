"""Pages from templates: one environment, the words of one language, and what every page carries."""

from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

# What a browser shows in its tab and keeps in its history: nothing that tells what this is about.
NEUTRAL_TITLE = "Notes"

_TEMPLATES = Environment(
    loader=ChoiceLoader(
        [PackageLoader("assistant.web"), PackageLoader("assistant.report.page")],
    ),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_TEMPLATES.globals["title"] = NEUTRAL_TITLE


def page(template: str, status: int = 200, **parts: Any) -> HTMLResponse:
    """Return a page. parts: what the template is filled with."""
    return HTMLResponse(_TEMPLATES.get_template(template).render(parts), status)


def text_of(template: str) -> str:
    """Return a template's own text, such as a style sheet."""
    source, _, _ = _TEMPLATES.loader.get_source(_TEMPLATES, template)  # type: ignore[union-attr]
    return source
