"""All pictures of exercises on one page, to look them over."""

from markupsafe import escape

from assistant.model.knowledge import KnowledgeBase
from assistant.report.pictures.figure import figure_svg

_STYLE = (
    "body{font:14px sans-serif;margin:12px;color:#222}"
    "main{display:flex;flex-wrap:wrap;gap:10px}"
    "figure{margin:0;width:360px;border:1px solid #ccc}figcaption{padding:4px 6px}"
)


def contact_sheet(kb: KnowledgeBase, language: str = "en") -> str:
    """Return a page with the picture of every exercise under its name, and what is not drawn, with the reason."""
    rows: list[str] = []
    for exercise in kb.exercises.exercises:
        svg = figure_svg(kb, exercise.id, language)
        if svg is not None:
            rows.append(f"<figure><figcaption>{escape(exercise.name)}</figcaption>{svg}</figure>")
    missing = [
        f"<li>{escape(name)}: {escape(reason)}</li>"
        for file in kb.poses.values()
        for name, reason in file.not_drawn.items()
    ]
    return (
        f'<!doctype html><html lang="{language}"><meta charset="utf-8"><title>Exercises</title>'
        f"<style>{_STYLE}</style><main>{''.join(rows)}</main><ul>{''.join(missing)}</ul></html>\n"
    )
