"""From parsed files to a draft: every item gets its model, its id and its place."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from assistant.knowledge.draft import Draft, Origin, by_id
from assistant.knowledge.files import BOOK, SourceFile, bears_id, rule_file_name
from assistant.knowledge.flag_rules import WITHHELD, FlagRules, silence_rules
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.shapes import shape
from assistant.knowledge.tables import expand
from assistant.model.base import Document
from assistant.model.book import Book, Table
from assistant.model.documents.flags import SEVERITIES, URGENCIES, Flag
from assistant.model.documents.how_to import HowToFile, HowToSaidFile
from assistant.model.documents.poses import PoseFile
from assistant.model.documents.screen_words import ScreenWords
from assistant.model.errors import Problem
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import FILES
from assistant.model.language import Language
from assistant.model.parameters import Parameter
from assistant.model.questions import Question, Section, TickList, TypedWords
from assistant.model.rules import Rule
from assistant.model.sources import GradeMeaning, Source

# Files that are lists of items, by their kind: the fields that hold the lists, and what is in them.
LISTS: Mapping[str, Mapping[str, type[Document]]] = {
    "facts": {"facts": FactDeclaration},
    "parameters": {"parameters": Parameter},
    "sources": {"sources": Source},
    "grades": {"grades": GradeMeaning},
    "questions": {
        "sections": Section,
        "questions": Question,
        "tick_lists": TickList,
        "typed_words": TypedWords,
    },
}
# Files that are one item by themselves, and the field that bears its name.
WHOLE: Mapping[str, tuple[type[Document], str]] = {
    "flag": (Flag, "id"),
    "language": (Language, "language"),
    "rule": (Rule, "id"),
}
# Files that are named after a movement pattern, which they do not repeat inside.
OF_A_PATTERN: Mapping[str, type[Document]] = {
    "how_to": HowToFile,
    "how_to_said": HowToSaidFile,
    "pose": PoseFile,
}


class Builder:
    """Collects items for a draft.

    shelves: items by kind, as in the draft's places, and id. problems: all that has been wrong so far.
    has_all_definitions: whether every fact, parameter, source and question could be read, so that an
    unknown name is really unknown.
    """

    def __init__(self, book: Book, book_parsed: Parsed) -> None:
        self.book = book
        self.origins = {("book", book.name): Origin(book_parsed)}
        kinds = [field.removesuffix("s") for fields in LISTS.values() for field in fields]
        self.shelves: dict[str, dict[str, Any]] = {
            kind: {} for kind in (*kinds, *WHOLE, *OF_A_PATTERN, "document")
        }
        self.problems: list[Problem] = []
        self.has_all_definitions = True
        self.unsound_flags: list[str] = []
        # What a house's own thing stands in the place of.
        self.replaced: dict[tuple[str, str], Any] = {}
        # Which layer each item is of, and which one is taken in.
        self._layer_of: dict[tuple[str, str], int] = {}
        self._layer = BOOK

    def add(self, file: SourceFile, parsed: Parsed) -> None:
        """Take in one parsed file; one of a higher layer comes first."""
        self._layer = file.layer
        if file.kind == "document":
            self._document(file.path.stem, parsed)
        elif file.kind in WHOLE:
            self._whole(file, parsed)
        elif file.kind in OF_A_PATTERN:
            stem = file.path.stem
            name = f"{file.path.parent.name}/{stem}" if file.kind == "how_to_said" else stem
            self._item(file.kind, OF_A_PATTERN[file.kind], parsed.data, Origin(parsed), name)
        elif file.kind == "tables":
            self._table(file, parsed)
        else:
            self._lists(parsed, LISTS[file.kind])

    def draft(self) -> Draft:
        """Return everything as a draft; call it after the last file.

        The rules that follow from flags and from questions are made here.
        """
        self._make_rules()
        shelves = self.shelves
        places = {
            item if kind == "rule" else f"{kind}:{item}": origin.start
            for (kind, item), origin in self.origins.items()
        }
        return Draft(
            book=self.book,
            facts=by_id(shelves["fact"]),
            parameters=by_id(shelves["parameter"]),
            rules=by_id(shelves["rule"]),
            sources=by_id(shelves["source"]),
            grades=by_id(shelves["grade"]),
            sections=tuple(shelves["section"].values()),
            questions=tuple(shelves["question"].values()),
            tick_lists=tuple(shelves["tick_list"].values()),
            typed_words=tuple(shelves["typed_word"].values()),
            files=by_id(shelves["document"]),
            languages=by_id(shelves["language"]),
            flags=by_id(shelves["flag"]),
            how_to=by_id(shelves["how_to"]),
            how_to_said=by_id(shelves["how_to_said"]),
            poses=by_id(shelves["pose"]),
            places=by_id(places),
            logic_hash="",
            content_hash="",
            origins=self.origins,
            replaced=self.replaced,
        )

    def _make_rules(self) -> None:
        self._layer_of.clear()  # rules that follow give way to none
        flags, facts = self.shelves["flag"], self.shelves["fact"]
        words = self.shelves["document"].get("flags")
        if flags:
            roles = self.book.domains.get("role", ())
            names = tuple(dict.fromkeys((*_by_severity(flags, roles), *self.unsound_flags)))
            domains = {**self.book.domains, "flag": names}
            self.book = self.book.model_copy(update={"domains": domains})
        if not isinstance(words, ScreenWords) or WITHHELD not in facts:
            return
        maker = FlagRules(flags, words, facts[WITHHELD].groups)
        for flag in flags.values():
            parsed = self.origins["flag", flag.id].parsed
            for at, raw in maker.of(flag, parsed.data):
                self._item("rule", Rule, raw, Origin(parsed, at))
        for fact_id, raw in silence_rules(facts, words):
            origin = self.origins["fact", fact_id]
            self._item("rule", Rule, raw, Origin(origin.parsed, (*origin.at, "tier")))

    def _item(
        self, kind: str, model: type[Document], raw: Any, origin: Origin, name: str = ""
    ) -> Any:
        """Shape an item and keep it; None where it has not the right shape. name: where it bears none itself."""
        made = shape(model, raw, origin.parsed, origin.at)
        if isinstance(made, list):
            self.problems.extend(made)
            return None
        name = name or _id(made)
        first = self.origins.setdefault((kind, name), origin)
        if first is origin:
            self.shelves[kind][name] = made
            self._layer_of[kind, name] = self._layer
        elif self._layer_of.get((kind, name), self._layer) > self._layer:
            self.replaced[kind, name] = made
        else:
            text = f"{kind} `{name}` stands already at {first.start}"
            self.problems.append(Problem(str(origin.start), "repeated-id", text))
        return made

    def _whole(self, file: SourceFile, parsed: Parsed) -> None:
        model, field = WHOLE[file.kind]
        stem = file.path.stem
        made = self._item(file.kind, model, parsed.data, Origin(parsed))
        if made is None:
            if file.kind == "flag":
                # Its name stands, so that whoever names it is not blamed for what is wrong here.
                self.unsound_flags.append(stem)
            return
        name = _id(made)
        if not (bears_id(stem, name) if isinstance(made, Rule) else name == stem):
            remedy = "name both the same"
            if isinstance(made, Rule):
                remedy = f"name the file {rule_file_name(name, made.title)}"
            text = f"{file.kind} `{name}` stands in a file named `{stem}`; {remedy}"
            self.problems.append(Problem(parsed.place(field), "misnamed-file", text))
        if isinstance(made, Rule) and made.stage != file.folder and file.folder in self.book.stages:
            text = (
                f"stage `{made.stage}` in the folder `{file.folder}`; move the file or correct it"
            )
            self.problems.append(Problem(parsed.place("stage"), "misplaced-file", text))

    def _document(self, stem: str, parsed: Parsed) -> None:
        if stem not in FILES:
            hint = did_you_mean(stem, FILES, f"; allowed: {', '.join(sorted(FILES))}")
            text = f"nothing reads `{stem}.yaml`{hint}"
            self.problems.append(Problem(parsed.place(), "misnamed-file", text))
        else:
            self._item("document", FILES[stem], parsed.data, Origin(parsed), stem)

    def _lists(self, parsed: Parsed, models: Mapping[str, type[Document]]) -> None:
        before = len(self.problems)
        for field, number, raw in self._entries(parsed, tuple(models)):
            self._item(field.removesuffix("s"), models[field], raw, Origin(parsed, (field, number)))
        if len(self.problems) > before:
            self.has_all_definitions = False

    def _entries(self, parsed: Parsed, fields: tuple[str, ...]) -> Iterator[tuple[str, int, Any]]:
        wanted = " and ".join(f"`{field}:`" for field in fields)
        if not isinstance(parsed.data, dict):
            text = f"expected {wanted} with a list under it"
            self.problems.append(Problem(parsed.place(), "bad-value", text))
            return
        for field, entries in parsed.data.items():
            if field not in fields:
                text = f"`{field}` does not belong here; expected {wanted}"
                hint = did_you_mean(field, fields)
                self.problems.append(Problem(parsed.place(field), "unknown-field", text + hint))
            elif not isinstance(entries, list):
                text = f"`{field}` holds a list; begin every entry with `- `"
                self.problems.append(Problem(parsed.place(field), "bad-value", text))
            else:
                yield from ((field, number, raw) for number, raw in enumerate(entries))

    def _table(self, file: SourceFile, parsed: Parsed) -> None:
        table = shape(Table, parsed.data, parsed, ())
        if isinstance(table, list):
            self.problems.extend(table)
            return
        if not bears_id(file.path.stem, table.id):
            text = f"table `{table.id}` stands in `{file.path.stem}`; begin the name with the id"
            self.problems.append(Problem(parsed.place("id"), "misnamed-file", text))
        rows, problems = expand(table, parsed)
        self.problems.extend(problems)
        for row in rows:
            self._item("rule", Rule, row.raw, Origin(parsed, ("rows", row.row)))


def _id(item: Any) -> str:
    if isinstance(item, Question):
        return item.fact
    return item.language if isinstance(item, Language) else str(item.id)


def _by_severity(flags: Mapping[str, Flag], roles: Sequence[str]) -> tuple[str, ...]:
    """Return the ids of all flags: the strongest first, then whoever must look soonest.

    roles: all roles, the most pressing first; they decide among flags that are equally urgent.
    """
    # A role that the book does not know is refused later, with its place.
    pressing = {role: number for number, role in enumerate(roles)}

    def place(name: str) -> tuple[int, list[tuple[int, int]], str]:
        flag = flags[name]
        asked = sorted(
            (URGENCIES.index(each.urgency), pressing.get(each.to, len(pressing)))
            for each in flag.refer
        )
        return SEVERITIES.index(flag.severity), asked or [(len(URGENCIES), 0)], name

    return tuple(sorted(flags, key=place))
