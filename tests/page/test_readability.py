"""How hard a client's page and text are to read, by an open library (textstat), and how long their sentences are.

Outside source: the grade level of Kincaid, Fishburne, Rogers and Chissom (1975) for English, the first Vienna
formula of Bamberger and Vanecek (1984) for German, both as textstat computes them with pyphen's syllables. Eight
school years are what plain-language guides ask of health texts (common practice, from memory). Only whole sentences
count: rows of figures, names of exercises and titles are no sentences.

`pytest -n 0 -s -m "slow or not slow" tests/page/test_readability.py` prints the figures of all cases.
"""

import re
import warnings
from html.parser import HTMLParser

import pytest
from page_cases import FEW, NAMES, page
from test_text_plan import text_of

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # textstat reads its word lists through an old interface
    textstat = pytest.importorskip("textstat", reason="textstat is not installed")

MOST_SCHOOL_YEARS = 8
MOST_WORDS = 20
BREAKS = {"p", "li", "dt", "dd", "td", "th", "h1", "h2", "h3", "h4", "summary", "figcaption", "div", "span",
          "section", "details", "time", "text", "desc", "title"} | {"br"} - {"time"}  # fmt: skip
CASES = [pytest.param(name, marks=() if name in FEW else pytest.mark.slow) for name in NAMES]
SENTENCE_END = re.compile(r"(?<=[.!?])\s+(?=[A-ZÄÖÜ0-9„“])")


class _Blocks(HTMLParser):
    """The texts of a page, block by block."""

    def __init__(self) -> None:
        super().__init__()
        self.blocks = [""]
        self._skips = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        self._skips += tag in {"style", "svg"}
        self.blocks += [""] * (tag in BREAKS)

    def handle_endtag(self, tag: str) -> None:
        self._skips -= tag in {"style", "svg"}
        self.blocks += [""] * (tag in BREAKS)

    def handle_data(self, data: str) -> None:
        if not self._skips:
            self.blocks[-1] += data


def sentences(blocks: list[str]) -> list[str]:
    """Return the whole sentences: what ends as one and has more than two words."""
    plain = (" ".join(block.split()) for block in blocks)
    found = [each for block in plain for each in SENTENCE_END.split(block)]
    return [each for each in dict.fromkeys(found) if each[-1:] in ".!?" and len(each.split()) > 2]


def of_page(name: str, code: str) -> list[str]:
    parser = _Blocks()
    parser.feed(page(name, "client", code))
    return sentences(parser.blocks)


def of_text(name: str) -> list[str]:
    """Rows of the text, put together again where they were wrapped; names in the margin taken off."""
    blocks: list[str] = []
    for row in text_of(name, "client", full=True).text().splitlines():
        is_more = row.startswith(" ") and "why: " not in row and " or: " not in row
        said = re.sub(r"^\s*(why|or): |^- |^[a-z]+[_.a-z0-9]*( [a-z_0-9]+)?  ", "", row)
        if is_more and blocks:
            blocks[-1] += f" {said}"
        else:
            blocks.append(said)
    return sentences(blocks)


def words_in(sentence: str) -> int:
    return sum(bool(re.search(r"\w", word)) for word in sentence.split())


def english_years(text: str) -> tuple[float, float]:
    """Return school years by syllables (Kincaid), and by letters (Senter and Smith)."""
    textstat.set_lang("en")
    return textstat.flesch_kincaid_grade(text), textstat.automated_readability_index(text)


@pytest.mark.parametrize("name", CASES)
def test_a_client_needs_few_school_years_to_read_it(name: str) -> None:
    for what, said in (("page", of_page(name, "en")), ("text", of_text(name))):
        years, by_letters = english_years(" ".join(said))
        mean = sum(map(words_in, said)) / len(said)
        longest = max(said, key=words_in)
        print(
            f"{name} {what}: {len(said)} sentences, {mean:.1f} words, {years:.1f} and {by_letters:.1f} years"
        )
        assert max(years, by_letters) <= MOST_SCHOOL_YEARS, what
        assert words_in(longest) <= MOST_WORDS, (what, longest)


@pytest.mark.parametrize("name", CASES)
def test_the_same_in_german(name: str) -> None:
    said = of_page(name, "de")
    textstat.set_lang("de")
    years = textstat.wiener_sachtextformel(" ".join(said), 1)
    print(f"{name} page in German: {len(said)} sentences, {years:.1f} years")
    assert years <= MOST_SCHOOL_YEARS
    longest = max(said, key=words_in)
    assert words_in(longest) <= MOST_WORDS, longest


def test_a_hard_text_is_seen() -> None:
    """Written by us to be hard: the measure can fail."""
    hard = (
        "Notwithstanding considerable interindividual variability, hypertrophic adaptations are "
        "predominantly attributable to cumulative weekly training volume administered sufficiently "
        "proximate to momentary muscular failure throughout successive mesocycles."
    )
    assert min(english_years(hard)) > MOST_SCHOOL_YEARS
