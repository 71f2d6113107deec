"""The picture of an exercise: sound SVG, small, the same twice, said in words, and safe inside a page."""

import re
import xml.etree.ElementTree as ET

import pytest
from figures.test_poses import EVERY, book
from page.page_cases import page, week

from assistant.plan.how_to import how_to
from assistant.report.pictures.contact_sheet import contact_sheet
from assistant.report.pictures.figure import figure_svg

MOST_BYTES = 12_000
SVG = "{http://www.w3.org/2000/svg}"


@EVERY
def test_a_picture_is_small_sound_and_has_no_inline_style(name: str) -> None:
    svg = figure_svg(book(), name)
    assert svg is not None
    assert len(svg.encode()) < MOST_BYTES
    root = ET.fromstring(svg)
    assert root.find(f"{SVG}title") is not None
    for element in root.iter():
        assert element.tag != f"{SVG}script"
        assert element.tag != f"{SVG}style"
        for attribute in element.attrib:
            assert attribute != "style"
            assert not attribute.startswith("on")
    assert "nan" not in svg
    assert svg == figure_svg(book(), name)


@EVERY
def test_everything_drawn_is_inside_the_picture(name: str) -> None:
    root = ET.fromstring(figure_svg(book(), name) or "")
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for path in root.iter(f"{SVG}path"):
        ends = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.attrib["d"])
        assert all(-3 <= float(x) <= width + 3 for x, _ in ends)
        assert all(-3 <= float(y) <= height + 3 for _, y in ends)


@pytest.mark.parametrize("language", sorted(book().languages))
def test_every_picture_is_told_in_the_readers_language(language: str) -> None:
    told = book().languages[language].said()
    assert language == "en" or set(book().figures.words.templates()) <= told.keys()
    for row in book().exercises.exercises:
        svg = figure_svg(book(), row.id, language)
        if svg is None:
            continue
        root = ET.fromstring(svg)
        title, desc = root.findtext(f"{SVG}title"), root.findtext(f"{SVG}desc")
        name = row.name if language == "en" else book().languages[language].exercises[row.id]
        assert title is not None
        assert desc is not None
        assert title.startswith(name)
        assert "°" in desc or desc.count(".") == 1


def test_what_moves_is_marked_by_more_than_colour() -> None:
    svg = figure_svg(book(), "squat_goblet") or ""
    assert "stroke-dasharray" in svg
    assert "<polygon" in svg


def test_a_page_draws_each_exercise_of_the_week_once() -> None:
    shown = week("four_days")
    assert shown is not None
    exercises = {line.exercise for session in shown.sessions for line in session.lines}
    client = page("four_days", "client")
    drawn = re.findall(r'<title id="figure-([a-z0-9-]+)-title">', client)
    assert len(drawn) == len(set(drawn))
    assert {name.replace("-", "_") for name in drawn} == {
        name for name in exercises if book().pose_of(name) and _is_written(name)
    }


def _is_written(name: str) -> bool:
    return how_to(book(), name, book().languages["en"]) is not None


def test_the_sheet_holds_every_picture_and_every_reason() -> None:
    page = contact_sheet(book())
    assert page.count("<svg") == sum(len(file.poses) for file in book().poses.values())
    for file in book().poses.values():
        for name in file.not_drawn:
            assert f"<li>{name}:" in page
