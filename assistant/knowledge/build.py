"""From parsed files to a draft: every item gets its model, its id and its place."""

from collections.abc import Iterator
from typing import Any

from assistant.knowledge.draft import Draft, Origin
from assistant.knowledge.files import SourceFile, bears_id, rule_file_name
from assistant.knowledge.flag_rules import WITHHELD, FlagRules, by_severity
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import Parsed, RawPath
from assistant.knowledge.shapes import shape
from assistant.knowledge.silence_rules import silence_rules
from assistant.knowledge.tables import expand
from assistant.model.base import Document
from assistant.model.book import Book, Table
from assistant.model.documents.flags import Flag
from assistant.model.documents.screen_words import ScreenWords
from assistant.model.errors import Problem
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import FILES
from assistant.model.language import Language
from assistant.model.parameters import Parameter
from assistant.model.questions import Question, Section
from assistant.model.rules import Rule
from assistant.model.sources import GradeMeaning, Source

_LISTS: dict[str, tuple[type[Document], str]] = {
    "facts": (FactDeclaration, "fact"),
    "parameters": (Parameter, "parameter"),
    "sources": (Source, "source"),
    "grades": (GradeMeaning, "grade"),
    "sections": (Section, "section"),
    "questions": (Question, "question"),
}


class Builder:
    """Collects items into a draft.

    problems: all that has been wrong so far. has_all_definitions: whether every fact, parameter,
    source and question could be read, so that an unknown name is really unknown.
    """

    def __init__(self, book: Book, book_parsed: Parsed) -> None:
        self.draft = Draft(book)
        self.draft.origins["book", book.name] = Origin(book_parsed)
        self.problems: list[Problem] = []
        self.has_all_definitions = True
        self.unsound_flags: list[str] = []

    def add(self, file: SourceFile, parsed: Parsed) -> None:
        """Take in one parsed file."""
        if file.kind == "flag":
            self._flag(file, parsed)
        elif file.kind == "document":
            self._document(file.path.stem, parsed)
        elif file.kind == "language":
            self._language(file.path.stem, parsed)
        elif file.kind == "rule":
            self._rule(parsed.data, parsed, (), stem=file.path.stem, folder=file.folder)
        elif file.kind == "tables":
            self._table(file, parsed)
        elif file.kind == "questions":
            self._lists(parsed, ("sections", "questions"))
        else:
            self._lists(parsed, (file.kind,))

    def finish(self) -> None:
        """Make the rules that follow from flags and from questions; call it after the last file."""
        draft = self.draft
        words = draft.files.get("flags")
        if draft.flags:
            names = (*by_severity(draft.flags), *self.unsound_flags)
            domains = {**draft.book.domains, "flag": names}
            draft.book = draft.book.model_copy(update={"domains": domains})
        if not isinstance(words, ScreenWords) or WITHHELD not in draft.facts:
            return
        maker = FlagRules(draft.flags, words, draft.facts[WITHHELD].groups)
        for flag in draft.flags.values():
            parsed = draft.origins["flag", flag.id].parsed
            for made in maker.of(flag, parsed.data):
                self._rule(made.raw, parsed, made.at)
        for fact_id, raw in silence_rules(draft.facts, words):
            origin = draft.origins["fact", fact_id]
            self._rule(raw, origin.parsed, (*origin.at, "tier"))

    def _flag(self, file: SourceFile, parsed: Parsed) -> None:
        made = shape(Flag, parsed.data, parsed, ())
        if isinstance(made, list):
            # Its name stands, so that whoever names it is not blamed for what is wrong here.
            self.unsound_flags.append(file.path.stem)
            self.problems.extend(made)
            return
        if made.id != file.path.stem:
            text = f"flag `{made.id}` stands in a file named `{file.path.stem}`; name both the same"
            self.problems.append(Problem(parsed.place("id"), "misnamed-file", text))
        self.draft.origins["flag", made.id] = Origin(parsed)
        self.draft.flags[made.id] = made

    def _document(self, stem: str, parsed: Parsed) -> None:
        if stem not in FILES:
            hint = did_you_mean(stem, FILES, f"; allowed: {', '.join(sorted(FILES))}")
            text = f"nothing reads `{stem}.yaml`{hint}"
            self.problems.append(Problem(parsed.place(), "misnamed-file", text))
            return
        made = shape(FILES[stem], parsed.data, parsed, ())
        if isinstance(made, list):
            self.problems.extend(made)
        else:
            self.draft.files[stem] = made
            self.draft.origins["document", stem] = Origin(parsed)

    def _language(self, stem: str, parsed: Parsed) -> None:
        made = shape(Language, parsed.data, parsed, ())
        if isinstance(made, list):
            self.problems.extend(made)
        elif made.language != stem:
            text = f"`{made.language}` stands in a file named `{stem}`; name both the same"
            self.problems.append(Problem(parsed.place("language"), "misnamed-file", text))
        else:
            self.draft.languages[stem] = made
            self.draft.origins["language", stem] = Origin(parsed)

    def _lists(self, parsed: Parsed, fields: tuple[str, ...]) -> None:
        before = len(self.problems)
        for field, number, raw in self._entries(parsed, fields):
            model, kind = _LISTS[field]
            made = shape(model, raw, parsed, (field, number))
            if isinstance(made, list):
                self.problems.extend(made)
            else:
                self._keep(kind, made, Origin(parsed, (field, number)))
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

    def _keep(self, kind: str, item: Any, origin: Origin) -> None:
        name = item.fact if isinstance(item, Question) else str(item.id)
        if (kind, name) in self.draft.origins:
            first = self.draft.place(kind, name)
            text = f"{kind} `{name}` stands already at {first}"
            self.problems.append(Problem(origin.parsed.place(*origin.at), "repeated-id", text))
            return
        self.draft.origins[kind, name] = origin
        shelf: Any = getattr(self.draft, f"{kind}s")
        if isinstance(shelf, list):
            shelf.append(item)
        else:
            shelf[name] = item

    def _rule(
        self, raw: Any, parsed: Parsed, at: RawPath, stem: str | None = None, folder: str = ""
    ) -> None:
        made = shape(Rule, raw, parsed, at)
        if isinstance(made, list):
            self.problems.extend(made)
            return
        if stem is not None and not bears_id(stem, made.id):
            name = rule_file_name(made.id, made.title)
            text = f"rule `{made.id}` stands in a file named `{stem}`; name the file {name}"
            self.problems.append(Problem(parsed.place(*at, "id"), "misnamed-file", text))
        if stem is not None and made.stage != folder and folder in self.draft.book.stages:
            text = f"stage `{made.stage}` in the folder `{folder}`; move the file or correct it"
            self.problems.append(Problem(parsed.place(*at, "stage"), "misplaced-file", text))
        self._keep("rule", made, Origin(parsed, at))

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
            self._rule(row.raw, parsed, ("rows", row.row))
