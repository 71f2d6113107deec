"""The page as a document: closed in itself, in order for a screen reader, the same bytes each time.

Outside sources: the HTML standard (void elements, unique ids); WCAG 2.2 success criteria 1.1.1, 1.3.1,
1.4.3, 1.4.11 and 3.1.1, with its formula for relative luminance and contrast ratio.
"""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from page_cases import FEW, ROOT, book, page, plan_and_page, planner_of, readable, week

import assistant
from assistant.cli.main import main
from assistant.report.page.sessions import sets_by_day

VOID = {"meta", "link", "br", "img", "input", "hr", "source", "area", "base", "col", "embed", "wbr"}
PAGES = [(name, who) for name in FEW for who in ("client", "coach")]


class _Outline(HTMLParser):
    """Checks that every element is closed in order; notes headings, ids and attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.headings: list[int] = []
        self.ids: list[str] = []
        self.elements: list[tuple[str, dict[str, str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.elements.append((tag, given))
        if "id" in given:
            self.ids.append(given["id"])
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def _outline(html: str) -> _Outline:
    outline = _Outline()
    outline.feed(html)
    assert outline.wrong == []
    assert outline.open == []
    return outline


@pytest.mark.parametrize(("name", "who"), PAGES)
def test_the_file_asks_for_nothing_from_outside(name: str, who: str) -> None:
    html = page(name, who)  # type: ignore[arg-type]
    outline = _outline(html)
    assert not {"script", "link", "img", "iframe", "object", "form"} & {
        t for t, _ in outline.elements
    }
    for tag, given in outline.elements:
        assert not any(attribute.startswith("on") for attribute in given), tag
        assert not {"src", "href", "style", "xlink:href"} & given.keys(), tag
    assert "default-src 'none'" in html
    assert "@import" not in html
    assert "url(" not in html


@pytest.mark.parametrize(("name", "who"), PAGES)
def test_headings_ids_tables_and_pictures_are_in_order(name: str, who: str) -> None:
    html = page(name, who)  # type: ignore[arg-type]
    outline = _outline(html)
    assert outline.headings[0] == 1
    assert outline.headings.count(1) == 1
    for before, after in zip(outline.headings, outline.headings[1:], strict=False):
        assert after <= before + 1, "a level of heading is left out"
    assert len(outline.ids) == len(set(outline.ids))
    for tag, given in outline.elements:
        if tag == "html":
            assert given["lang"] == "en"
        if tag == "th":
            assert given["scope"] in {"col", "row"}
        if tag == "svg" and given.get("aria-hidden") != "true":
            assert given["role"] == "img"
            assert set(given["aria-labelledby"].split()) <= set(outline.ids)
        elif "aria-labelledby" in given:
            assert given["aria-labelledby"] in outline.ids
    for described in re.findall(r"<desc[^>]*>(.*?)</desc>", html):
        assert len(described) > 20


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert plan_and_page("four_days")[1] == page("four_days")


def test_a_name_is_text_and_never_markup(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = (ROOT / "cases/refer_first.yaml").read_text("utf-8")
    wicked = 'name: "<b onmouseover=x>Ann & Bob</b>"\n'
    path = tmp_path / "case.yaml"
    path.write_text(re.sub(r"^name:.*\n", wicked, case, flags=re.MULTILINE), "utf-8")
    main(["plan", str(path), "--format", "html", "--for", "client", "--no-week"])
    html = capsys.readouterr().out
    assert "<b onmouseover" not in html
    assert "&lt;b onmouseover=x&gt;Ann &amp; Bob" in html
    _outline(html)


def test_what_a_coach_typed_is_text_and_never_markup(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    decision = (
        "decisions:\n"
        "  - {set_aside: eating_screen_one, role: head_trainer, by: head <i>trainer</i>, reason: talked & <script>x</script>,"
        ' since: "2026-01-12", until: "2026-02-09"}\n'
    )
    path = tmp_path / "case.yaml"
    path.write_text((ROOT / "cases/refer_first.yaml").read_text("utf-8") + decision, "utf-8")
    main(["plan", str(path), "--format", "html", "--no-week"])
    html = capsys.readouterr().out
    assert "head &lt;i&gt;trainer&lt;/i&gt;" in html
    assert "<script" not in html
    _outline(html)


def test_the_week_in_the_picture_is_the_week_that_was_solved() -> None:
    """Sets by day add up to what the solver's own account says of the muscle."""
    programme = week("four_days")
    assert programme is not None
    exercises = planner_of("four_days").catalogue.exercises
    rows = sets_by_day(programme, {name: e.credits for name, e in exercises.items()})
    assert {row.muscle: sum(row.sets.values()) for row in rows} == pytest.approx(
        {muscle.muscle: muscle.sets for muscle in programme.muscles}
    )
    drawn = re.findall(r'<desc id="week-grid-desc">(.*?)</desc>', page("four_days"))[0]
    glutes = next(m for m in programme.muscles if m.muscle == "glute_max")
    said = re.search(r"Glutes: ([^.]*(?:\.\d+[^.]*)*)\.", drawn)
    assert said is not None
    assert sum(map(float, re.findall(r"\d+(?:\.\d+)?", said[1]))) == pytest.approx(glutes.sets)


def test_bars_are_as_long_as_their_sets() -> None:
    """Length in the drawing over sets planned is one number for all muscles."""
    programme = week("four_days")
    assert programme is not None
    html = page("four_days")
    drawing = html[html.index('aria-labelledby="sets-per-muscle-title') :]
    drawing = drawing[: drawing.index("</svg>")]
    # The first bar is the key to the picture.
    widths = [float(w) for w in re.findall(r'class="bar"[^>]* width="([\d.]+)"', drawing)][1:]
    order = book().book.domains["muscle"]
    ranked = sorted(programme.muscles, key=lambda m: (not m.priority, order.index(m.muscle)))
    lengths = [w / m.sets for w, m in zip(widths, ranked, strict=True)]
    assert lengths == pytest.approx([lengths[0]] * len(lengths), rel=0.01)


def test_the_coach_sees_grade_and_why_of_every_line() -> None:
    plan, html = plan_and_page("four_days", "coach")
    for section in plan.sections:
        for line in section.lines:
            if not line.reason or line.id.startswith("screen."):
                continue
            assert f'Why<span class="for-ears">: {line.id}</span>' in html, line.id
    assert re.search(r"energy\.[a-z_.]+ = [\d.]+[^<]*\(since \d{4}-\d{2}-\d{2}\)", html)
    assert "ENE-400" in html
    assert 'id="source-common-practice-food"' in html
    client = page("four_days")
    assert "ENE-400" not in client
    assert 'class="grade' not in client


def test_a_stop_leaves_nothing_but_the_message() -> None:
    html = page("stop_today")
    assert "call your local emergency number" in html
    assert "<table" not in html
    assert "<figure" not in html
    assert "Tomorrow" not in html


def test_where_training_waits_the_page_says_so_in_place_of_a_session(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = (ROOT / "cases/four_days.yaml").read_text("utf-8").partition("expect:")[0]
    waits = case.replace("answers:\n", "answers:\n  screen.symptom_recent: [chest_pain]\n")
    waits = re.sub(r"\n  screen\.symptom_recent: (?!\[chest_pain\]).*", "", waits)
    path = tmp_path / "case.yaml"
    path.write_text(waits, "utf-8")
    main(["plan", str(path), "--format", "html", "--for", "client"])
    html = capsys.readouterr().out
    assert "Training waits until someone qualified has looked" in readable(html)
    assert "Please see a doctor, this week" in readable(html)
    assert "<table" not in html
    assert 'class="plate"' not in html


def test_proportions_beside_others_are_for_the_coach_alone() -> None:
    assert 'id="spread-title"' in page("four_days", "coach")
    assert 'id="spread-title"' not in page("four_days")
    # Body measures are withheld here, from the coach's page too.
    assert 'id="spread-title"' not in page("refer_first", "coach")


def test_what_to_do_tomorrow_is_said_before_everything_else() -> None:
    programme = week("four_days")
    assert programme is not None
    html = page("four_days")
    first = readable(html[: html.index('id="week"')])
    # The plan is of Monday 12 January 2026, so tomorrow is a Tuesday (calendar).
    assert "Tomorrow, Tuesday 13 January" in first
    tuesday = next(s for s in programme.sessions if s.day == "tue")
    assert all(line.name in first for line in tuesday.lines)
    assert "Eat about 2500 kcal a day" in first
    assert "aim for 8 hours" in first


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--format", "html", "--language", "de"], "--language: english-only: "),
        (["--format", "html", "--for", "client", "--language", "xx", "--no-week"],
         "--language: unknown-language: there are no messages in `xx`; languages: de, en"),
        (["cases/slow_cut.yaml", "--format", "html"], "--format html: one-case-only: "),
        (["--format", "html", "--no-week", "--out", "no/such/folder/page.html"],
         "no/such/folder/page.html: unwritable-file: "),
    ],
)  # fmt: skip
def test_options_that_cannot_be_met_are_one_clear_line(
    options: list[str], said: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    monkeypatch.chdir(ROOT)
    assert main(["plan", "cases/four_days.yaml", *options]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith(said)
    assert captured.err.count("\n") == 1


# ---- contrast ----------------------------------------------------------------------------------

STYLE = (
    Path(assistant.__file__).parent / "report/page/templates/style.css"
).read_text("utf-8")  # fmt: skip
PRINT = (
    Path(assistant.__file__).parent / "report/page/templates/print.css"
).read_text("utf-8")  # fmt: skip
TEXT = [  # 1.4.3: at least 4.5 to 1
    ("ink", "paper"), ("ink", "sheet"), ("quiet", "paper"), ("quiet", "sheet"), ("lead", "paper"),
    ("lead", "sheet"), ("ink", "care"), ("ink", "stop"), ("on-strong", "cell-2"), ("ink", "cell-1"),
    ("ink", "band"), ("ink", "band-strong"),
]  # fmt: skip
SHAPES = [  # 1.4.11: at least 3 to 1
    ("lead", "paper"), ("lead", "band"), ("mark", "paper"), ("mark", "band"), ("mark", "band-strong"),
    ("quiet", "paper"), ("care-edge", "paper"), ("stop-edge", "paper"),
]  # fmt: skip


def _schemes() -> Iterator[tuple[str, dict[str, str]]]:
    blocks = [
        m[1] for css in (STYLE, PRINT) for m in re.finditer(r":root \{(.*?)\}", css, re.DOTALL)
    ]
    assert len(blocks) == 3
    light = dict(re.findall(r"--([\w-]+): (#[0-9a-f]+)", blocks[0]))
    for name, block in zip(("light", "dark", "print"), blocks, strict=True):
        yield name, {**light, **dict(re.findall(r"--([\w-]+): (#[0-9a-f]+)", block))}


def _luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance of an sRGB colour."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * c for c in colour[1:])
    shares = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula() -> None:
    assert _contrast("#000", "#fff") == pytest.approx(21)
    # A grey that is well known to just pass on white (WebAIM and others name #767676).
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(
    ("scheme", "colours"), list(_schemes()), ids=lambda v: v if isinstance(v, str) else ""
)
def test_colours_keep_the_contrast_of_aa(scheme: str, colours: dict[str, str]) -> None:
    for pairs, least in ((TEXT, 4.5), (SHAPES, 3.0)):
        for front, back in pairs:
            ratio = _contrast(colours[front], colours[back])
            assert ratio >= least, f"{scheme}: {front} on {back} is {ratio:.2f}"
