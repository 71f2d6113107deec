"""Lines of the plan as the page shows them: what is folded away, and the why behind a line."""

from dataclasses import dataclass

from markupsafe import Markup

from assistant.explain.why import Step, steps_behind
from assistant.model.plan import Line
from assistant.plan.sentences import Narrator
from assistant.report.page.words import PageWords
from assistant.report.text import same_reason

# These lines are said again by the session tables and the picture of sets; they start closed.
_IN_TABLES = ("training.day[", "training.dose[")


@dataclass(frozen=True)
class Said:
    """One line. reason is empty where the line above gave the same one; grade and why are the coach's."""

    id: str
    text: Markup
    reason: Markup
    grade: str = ""
    why: tuple[Step, ...] = ()

    @property
    def is_folded(self) -> bool:
        """Tell whether a picture or a table says the line as well."""
        return self.id.startswith(_IN_TABLES)


def said_lines(lines: tuple[Line, ...], narrator: Narrator, words: PageWords) -> list[Said]:
    """Return lines with their reasons; a run of lines from one rule gives its reason once."""
    said = []
    for before, line in zip((None, *lines), lines, strict=False):
        show = line.reason != line.text and not same_reason(before, line)
        text, reason = words.html(line.text), words.html(line.reason if show else "")
        if narrator.audience == "coach":
            said.append(Said(line.id, text, reason, line.grade, _why(line, narrator)))
        else:
            said.append(Said(line.id, text, reason))
    return said


def _why(line: Line, narrator: Narrator) -> tuple[Step, ...]:
    steps: dict[str, Step] = {}
    for key in line.facts:
        for step in steps_behind(narrator, key):
            steps.setdefault(step.derivation_id or step.rule_id, step)
    return tuple(steps.values())
