"""Words of the page: messages by key, dates, and marks for what is not in the reader's language."""

import datetime as dt
import re
from dataclasses import dataclass

from markupsafe import Markup, escape

from assistant.model.language import Language
from assistant.model.values import weekday_of
from assistant.plan.language import ENGLISH, FOREIGN_END, FOREIGN_START, marked, read_language
from assistant.plan.phrases import Phrasebook

FOREIGN_HTML = '<span lang="en">'
_DAY_IN_TEXT = re.compile(r"\b(\d{4}-\d{2}-\d{2})\b")


@dataclass(frozen=True)
class PageWords:
    """Messages of one language over the English ones, and the phrasebook for ids and numbers."""

    language: Language
    english: Language
    phrases: Phrasebook

    @property
    def is_english(self) -> bool:
        """Tell whether the page is in the language the rules are written in."""
        return self.language.language == self.english.language

    def say(self, key: str, **slots: str) -> str:
        """Return a message with its slots filled. Raises KeyError for a key English lacks too."""
        own = self.language.furniture.get(key)
        template = own if own is not None else marked(self.english.furniture[key])
        return self.phrases.render(template, slots.get)

    def told(self, key: str, **slots: object) -> Markup:
        """Return a message as HTML, its slots filled."""
        return self.html(self.say(key, **{name: str(words) for name, words in slots.items()}))

    def exercise(self, exercise_id: str, english: str) -> str:
        """Return an exercise's name."""
        own = self.language.exercises.get(exercise_id)
        return english if self.is_english else (own or marked(english))

    def free(self, english: str) -> str:
        """Return a sentence that the programme worded, or the English one marked."""
        own = self.language.said().get(english)
        return english if self.is_english else (own or marked(english))

    def count(self, value: float) -> str:
        """Return hard sets in quarters without idle zeros: 3, 3.5, 3.75."""
        return self.phrases.written(f"{round(value, 2):g}")

    def weekday(self, day: dt.date) -> str:
        """Return the day of the week in words."""
        return self.phrases.label(weekday_of(day))

    def date(self, day: dt.date, form: str = "date_long") -> str:
        """Return a day in words; `form` is a message key with {weekday} {day} {month} {year}."""
        month = self.say(f"month_{day.month}")
        slots = {"weekday": self.weekday(day), "day": str(day.day), "month": month}
        return self.say(form, **slots, year=str(day.year))

    def html(self, text: str) -> Markup:
        """Return a text as HTML: escaped, days as `<time>`, other languages marked."""
        safe = str(escape(_capital(text)))
        safe = _DAY_IN_TEXT.sub(self._time, safe)
        safe = safe.replace(FOREIGN_START, FOREIGN_HTML).replace(FOREIGN_END, "</span>")
        return Markup(safe)  # noqa: S704  escaped above

    def plain(self, text: str) -> str:
        """Return a text without marks, days in words: for titles and descriptions of pictures."""
        bare = _capital(text).replace(FOREIGN_START, "").replace(FOREIGN_END, "")
        return _DAY_IN_TEXT.sub(self._day_words, bare)

    def _time(self, match: re.Match[str]) -> str:
        return f'<time datetime="{match.group(1)}">{escape(self._day_words(match))}</time>'

    def _day_words(self, match: re.Match[str]) -> str:
        try:
            return self.date(dt.date.fromisoformat(match.group(1)))
        except ValueError:
            return match.group(1)


def english_words(phrases: Phrasebook) -> PageWords:
    """Return the words of texts, which are in English."""
    english = read_language(phrases.kb, ENGLISH)
    return PageWords(english, english, phrases)


def _capital(text: str) -> str:
    """Return a text with a capital first letter, behind a mark too."""
    start = len(text) - len(text.lstrip(FOREIGN_START))
    return text[:start] + text[start : start + 1].upper() + text[start + 1 :]
