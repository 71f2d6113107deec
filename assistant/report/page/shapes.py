"""What the templates are given: words already worded, escaped and in order. Shapes only."""

from dataclasses import dataclass

from markupsafe import Markup

from assistant.report.pictures.svg import Picture


@dataclass(frozen=True)
class WhyStep:
    """One rule behind a line, for the coach: what it read, the numbers and sources it used."""

    rule: str
    sentence: Markup
    readings: tuple[str, ...]
    parameters: tuple[str, ...]
    sources: tuple[str, ...]
    grade: str
    weakest: str


@dataclass(frozen=True)
class Said:
    """One line of the plan. reason is empty where the line above gave the same one."""

    id: str
    text: Markup
    reason: Markup
    grade: str
    why: tuple[WhyStep, ...] = ()


@dataclass(frozen=True)
class SectionView:
    """A titled section. `folded` lines are also in a picture or table, so they start closed."""

    id: str
    title: Markup
    note: Markup
    lines: tuple[Said, ...]
    folded: tuple[Said, ...] = ()
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True)
class ExerciseRow:
    """One exercise of a session as it is read off in the gym."""

    name: Markup
    dose: Markup
    reserve: Markup
    rest: Markup
    load: Markup
    reason: str
    swaps: tuple[str, ...]


@dataclass(frozen=True)
class SessionView:
    """One training day."""

    id: str
    title: Markup
    length: Markup
    rows: tuple[ExerciseRow, ...]


@dataclass(frozen=True)
class Card:
    """One answer to "what do I do tomorrow": train, eat, sleep, or whom to see.

    after: small print under the session, such as how to find a load.
    """

    id: str
    title: Markup
    lines: tuple[Markup, ...]
    session: SessionView | None = None
    after: tuple[Markup, ...] = ()


@dataclass(frozen=True)
class Plate:
    """One day in the mark at the head of the page: a plate on a bar, tall on training days."""

    x: float
    height: float
    trains: bool


@dataclass(frozen=True)
class SourceView:
    """A source that the page's reasons lean on."""

    id: str
    citation: str
    mark: str


@dataclass(frozen=True)
class PageView:
    """The whole page for one reader."""

    language: str
    audience: str
    title: str
    name: str
    dates: Markup
    plates: tuple[Plate, ...]
    alert: str
    first: tuple[Said, ...]
    first_title: Markup
    tomorrow_title: Markup
    tomorrow_note: Markup
    cards: tuple[Card, ...]
    week_title: Markup
    week_pictures: tuple[Picture, ...]
    week_notes: tuple[Markup, ...]
    load_notes: tuple[Markup, ...]
    sessions: tuple[SessionView, ...]
    unmet: tuple[Markup, ...]
    not_chosen: tuple[Markup, ...]
    search: tuple[Markup, ...]
    sections: tuple[SectionView, ...]
    sources: tuple[SourceView, ...]
    grades: tuple[tuple[str, str], ...]
    language_note: Markup
    footer: tuple[Markup, ...]
    labels: dict[str, Markup]
