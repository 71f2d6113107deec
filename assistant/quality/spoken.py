"""Every sentence that a client can be shown, with the place in the rules where it is written."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.model.base import Document
from assistant.model.documents.flags import Said
from assistant.model.documents.message import ENDS_OF_A_MESSAGE, MessageStep
from assistant.model.documents.next_loads import NextLoadWords
from assistant.model.documents.page import LinePart, NotesPart, PlanLayout, ReasonsPart
from assistant.model.documents.page_words import AcceptingWords, Phrases
from assistant.model.knowledge import KnowledgeBase

ENGLISH = "en"
_Path = tuple[str | int, ...]
# The voices of a question, and of a list to tick first, that a person alone reads.
_OF_A_QUESTION = ("self", "why", "label_self")
_OF_TICKS = ("self", "why", "label", "help")


@dataclass(frozen=True)
class Spoken:
    """One text a client can be shown. kind, item, path: where it stands, as `KnowledgeBase.place` takes it."""

    text: str
    kind: str
    item: str
    path: _Path = ()
    language: str = ENGLISH


def spoken_to_clients(kb: KnowledgeBase) -> Iterator[Spoken]:
    """Yield every text a client can be shown, in all languages; empty ones are left out."""
    for shelf in (_page(kb), _rules(kb), _screen(kb), _questions(kb), _checkin(kb), _message(kb),
                  _small_words(kb), _how_to(kb), _languages(kb)):  # fmt: skip
        yield from (each for each in shelf if each.text)


def for_clients_by_rule(kb: KnowledgeBase) -> tuple[str, ...]:
    """Return the beginnings of the facts whose deciding rule is quoted to a client."""
    parts = [part for section in kb.plan.sections for part in section.parts]
    names = [p.notes for p in parts if isinstance(p, NotesPart) and p.only_for != "coach"]
    names += [p.reasons for p in parts if isinstance(p, ReasonsPart)]
    lines = [p for p in parts if isinstance(p, LinePart) and p.only_for != "coach"]
    return (*names, *(line.about[0].partition("[")[0] for line in lines))


def _page(kb: KnowledgeBase) -> Iterator[Spoken]:
    page = kb.plan
    for number, section in enumerate(page.sections):
        yield _document("plan", section.client_title, "sections", number, "client_title")
    for path, part in page.lines():
        if part.only_for != "coach":
            field = "coach" if part.client is None else "client"
            yield _document("plan", part.client or part.coach, *path, field)
    own = {
        name.removesuffix("_client") for name in Phrases.model_fields if name.endswith("_client")
    }
    for name in Phrases.model_fields.keys() - own:
        yield _document("plan", page.phrases[name], "phrases", name)
    if page.next_loads is not None:
        for way in NextLoadWords.model_fields:
            yield _document("plan", page.next_loads[way], "next_loads", way)
    if page.accepting is not None:
        for name in AcceptingWords.model_fields:
            yield _document("plan", page.accepting[name].client, "accepting", name, "client")
    yield from _of_the_house(page)


def _of_the_house(page: PlanLayout) -> Iterator[Spoken]:
    """What is said of figures set by hand and of a gym's own rules."""
    house, by_hand = page.house, page.by_hand
    said = {} if by_hand is None else {("by_hand", "set"): by_hand.set.client}
    if house is not None:
        said |= {("house", "title"): house.title.client, ("house", "rule"): house.rule.client}
    for path, text in said.items():
        yield _document("plan", text, *path, "client")


def _rules(kb: KnowledgeBase) -> Iterator[Spoken]:
    quoted = for_clients_by_rule(kb)
    for rule in kb.rules.values():
        if rule.client_because:
            yield Spoken(rule.client_because, "rule", rule.id, ("client_because",))
        elif any(item.fact.startswith(quoted) for item in rule.then):
            yield Spoken(rule.because, "rule", rule.id, ("because",))


def _screen(kb: KnowledgeBase) -> Iterator[Spoken]:
    for flag in kb.flags.values():
        for field in ("area", "client", "self"):
            yield Spoken(getattr(flag, field) or "", "flag", flag.id, (field,))
        for number, step in enumerate(flag.first_steps):
            for voice in ("client", "self"):
                path = ("first_steps", number, voice)
                yield Spoken(getattr(step, voice) or "", "flag", flag.id, path)
    if "flags" in kb.files:
        for shelf in ("roles", "urgencies", "levels", "outputs", "trainings"):
            said: dict[str, Said] = getattr(kb.screen_words, shelf)
            for name, words in said.items():
                yield _document("flags", words.client, shelf, name, "client")
    if "limits" in kb.files:
        for number, limit in enumerate(kb.limits.limits):
            yield _document("limits", limit.say, "limits", number, "say")


def _questions(kb: KnowledgeBase) -> Iterator[Spoken]:
    for section in kb.sections:
        yield from _fields("section", section.id, section, ("title", "intro_self"))
    for question in kb.questions:
        own = [
            f"{line}_self" if getattr(question, f"{line}_self") else line
            for line in ("help", "closing")
        ]
        yield from _fields("question", question.fact, question, (*_OF_A_QUESTION, *own))
        for choice, label in question.labels.items():
            yield Spoken(label, "question", question.fact, ("labels", choice))
        if question.label_self is None:
            yield Spoken(kb.facts[question.fact].label, "fact", question.fact, ("label",))
    for ticks in kb.tick_lists:
        yield from _fields("tick_list", ticks.id, ticks, _OF_TICKS)
        for number, item in enumerate(ticks.items):
            yield Spoken(item.label, "tick_list", ticks.id, ("items", number, "label"))


def _checkin(kb: KnowledgeBase) -> Iterator[Spoken]:
    if "checkin" not in kb.files:
        return
    for number, section in enumerate(kb.checkin.sections):
        yield _document("checkin", section.title, "sections", number, "title")
        yield _document("checkin", section.intro_self or "", "sections", number, "intro_self")
    for number, asked in enumerate(kb.checkin.questions):
        for field in ("self", "why", "help"):
            yield _document("checkin", getattr(asked, field) or "", "questions", number, field)
        for place, label in enumerate(asked.labels):
            yield _document("checkin", label, "questions", number, "labels", place)
    for name, words in kb.checkin.measures:
        yield _document("checkin", words.label, "measures", name, "label")


def _message(kb: KnowledgeBase) -> Iterator[Spoken]:
    if "message" not in kb.files:
        return
    words = kb.message
    for name in ENDS_OF_A_MESSAGE:
        yield _document("message", getattr(words, name), name)
    yield from (_document("message", text, "away", kind) for kind, text in words.away.items())
    steps: dict[_Path, MessageStep] = {
        ("stopped",): words.stopped,
        ("undecided",): words.undecided,
    }
    for shelf in ("urgent", "decisions"):
        steps |= {(shelf, name): step for name, step in getattr(words, shelf).items()}
    for path, step in steps.items():
        yield _document("message", step.say, *path, "say")
        yield _document("message", step.next, *path, "next")
    for number, line in enumerate(words.lines):
        yield _document("message", line.say, "lines", number, "say")


def _small_words(kb: KnowledgeBase) -> Iterator[Spoken]:
    """Labels, what stands in a calendar, and under a picture."""
    for name, label in kb.wording.labels.items():
        yield _document("wording", label, "labels", name)
    if "calendar" in kb.files:
        for shelf in ("titles", "texts"):
            for name, words in getattr(kb.calendar, shelf):
                yield _document("calendar", words.client, shelf, name, "client")
        for name, line in kb.calendar.lines:
            yield _document("calendar", line, "lines", name)
    if "figures" in kb.files:
        yield from (_document("figures", text, "words") for text in kb.figures.words.templates())


def _how_to(kb: KnowledgeBase) -> Iterator[Spoken]:
    for pattern, file in kb.how_to.items():
        for number, entry in enumerate(file.exercises):
            for path, text in entry.for_client():
                yield Spoken(text, "how_to", pattern, ("exercises", number, *path))
    for name, said in kb.how_to_said.items():
        for number, words in enumerate(said.exercises):
            for path, text in words.for_client():
                place = ("exercises", number, *path)
                yield Spoken(text, "how_to_said", name, place, name.partition("/")[0])


def _languages(kb: KnowledgeBase) -> Iterator[Spoken]:
    for code, language in kb.languages.items():
        for field in ("furniture", "labels"):
            for key, text in getattr(language, field).items():
                yield Spoken(text, "language", code, (field, key), code)
        for number, said in enumerate(language.texts):
            yield Spoken(said.say, "language", code, ("texts", number, "say"), code)


def _fields(kind: str, item: str, words: Document, fields: Iterable[str]) -> Iterator[Spoken]:
    for field in fields:
        yield Spoken(getattr(words, field) or "", kind, item, (field,))


def _document(stem: str, text: str, *path: str | int) -> Spoken:
    return Spoken(text, "document", stem, path)
