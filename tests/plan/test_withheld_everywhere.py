"""The same search for withheld figures over every command and format that can print one, for coaches too.

What the screen withholds is withheld from everyone: a coach with a figure in hand will say it. Files
that hand over a person's own answers (exchange, the export of a record, the log) are searched for what
the rules would have worked out; the answers in them are the person's own.
"""

import contextlib
import csv
import dataclasses
import datetime as dt
import json
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
import yaml
from shipped import planner_on
from test_withheld_figures import (
    FLAGGED,
    ROOT,
    _figures,
    _file,
    _readable,
    _secret_figures,
    _unfolded,
)

from assistant.batch.part import rows
from assistant.cli.main import main
from assistant.cli.record_file import read_record
from assistant.cli.registry import COMMANDS
from assistant.intake.checkin.book import checkin_book
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import split_key
from assistant.plan import Planner
from assistant.plan.record import findings_of
from assistant.plan.visibility import withheld_outputs

RECORD = ROOT / "cases/records/four_days.csv"
LATER = "2026-03-08"
READERS = ("coach", "client")


@dataclasses.dataclass(frozen=True)
class Told:
    """One thing printed or written. own: the person's own answers may stand in it."""

    command: str
    text: str
    own: bool = False


def _bare(text: str) -> str:
    """Return a text without places of shapes, without the list of sources, and without examples."""
    text = _unfolded(_readable(text))
    text = re.sub(r'<li id="source-.*?</li>', "", text, flags=re.DOTALL)
    text = re.sub(r"\nSources, the least known first\n.*", "", text, flags=re.DOTALL)
    # How many rules lack an answer, were blocked or fired is a count, whatever it happens to be.
    text = re.sub(r"(Lack an answer|Blocked|Fired) \(\d+\)", r"\1", text)
    text = re.sub(r"\d+ rules fired", "rules fired", text)
    text = re.sub(r": \d+ of \d+ \(\d+ %\)", "", text)
    # So is the number of a line in an export of the record.
    text = re.sub(r'"number": \d+', "", text)
    # Identifiers and hashes are drawn by chance, and some of their parts look like figures.
    text = re.sub(r"\b[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\b|\b[0-9a-f]{32,}\b", "", text)
    text = re.sub(r"\bhead [0-9a-f]{12}\b", "", text)
    # The words of a choice are the same for everybody ("sudden death under 50").
    text = re.sub(r'"display": "[^"]*"', "", text)
    drawn = r' (?:xmlns|viewBox|width|height|x|y|x1|x2|y1|y2|rx|points|d)="[^"]*"'
    return re.sub(drawn, "", text) if text.startswith("<svg") else text


class Desk:
    """Types commands for one person in a folder of their own and keeps what came of them."""

    def __init__(
        self, folder: Path, case: Path, record: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        self.folder, self.case, self.record, self._capsys = folder, str(case), str(record), capsys
        self.told: list[Told] = []

    def type(self, *words: str, own: bool = False) -> None:
        with contextlib.suppress(SystemExit):  # what a parser says on bad options counts too
            main(list(words))
        captured = self._capsys.readouterr()
        text = _bare(captured.out) + captured.err
        self.told.append(Told(" ".join(words), text, own))

    def read(self, path: Path, *, own: bool = False) -> None:
        text = path.read_text("utf-8")
        self.told.append(Told(str(path.name), _bare(text), own))


def plans(desk: Desk) -> None:
    for words in (["json"], ["text", "--imperial"], ["html", "--imperial"],
                  ["ics", "--timezone", "Europe/London"]):  # fmt: skip
        desk.type("plan", desk.case, "--for", "coach", "--no-week", "--format", *words)


def sessions(desk: Desk) -> None:
    for reader in ("coach", "client"):
        desk.type("plan", desk.case, "--for", reader)
        desk.type("plan", desk.case, "--for", reader, "--full")
        desk.type("why", desk.case, "tue", "1", "--for", reader)
    desk.type("week", desk.case, "--imperial")
    desk.type("week", desk.case, "--about", "squat_goblet")
    desk.type("week", desk.case, "--missed", "mon")
    desk.type("edit", desk.case, "sets", "seated leg curl", "4", "--repair")
    desk.type("edit", desk.case, "list")
    for form in ("text", "html"):
        desk.type("week", desk.case, "--log-sheet", "--imperial", "--format", form)
        desk.type("exercise", "--deck", desk.case, "--client", "--format", form)


def reasons(desk: Desk) -> None:
    for reader in READERS:
        for asked in ("energy.target_kcal_per_day", "protein.g_per_day", "body.bmi", "phase.now"):
            desk.type("why", desk.case, asked, "--all", "--for", reader, "--imperial")
            desk.type("why", desk.case, asked, "--for", reader)
        desk.type(
            "why-not", desk.case, "energy.target_kcal_per_day", "--most", "99", "--for", reader
        )
        desk.type("why-not", desk.case, "SCR-BMI-THIN", "--for", reader)
        desk.type("what-if", desk.case, "stress=5", "goal=lose_fat", "--for", reader)
        desk.type("what-if", desk.case, "protein.aim_per_lb=top", "--for", reader, "--imperial")
        desk.type("flip", desk.case, "energy.target_kcal_per_day", "--for", reader)
        for form in ("text", "mermaid", "svg"):
            desk.type("picture", desk.case, "phase.now", "--format", form, "--for", reader)


def audits(desk: Desk) -> None:
    for form in ("text", "html"):
        desk.type("audit", desk.case, "--format", form)
    desk.type("audit", desk.case, "--record", desk.record, "--as-of", LATER, "--imperial")
    desk.type("evidence", desk.case)


def trials(desk: Desk) -> None:
    """Numbers at the top of their ranges beside the book: food and sleep both move."""
    tried = desk.folder / "more.yaml"
    wanted = {"protein.aim_per_lb", "sleep.target", "energy.surplus_percent"}
    numbers = []
    for path in sorted((ROOT / "rules/parameters").glob("*.yaml")):
        for number in yaml.safe_load(path.read_text("utf-8"))["parameters"]:
            if number["id"] in wanted:
                values = [{**each, "value": number["range"][1]} for each in number["values"]]
                numbers.append({**number, "values": values})
    assert len(numbers) >= 2
    tried.write_text(json.dumps({"parameters": numbers}), "utf-8")
    folder = desk.folder / "tried"
    folder.mkdir()
    (folder / "case.yaml").write_bytes(Path(desk.case).read_bytes())
    desk.type("rules", "try", str(tried), "--cases", str(folder))
    told = desk.told.pop()
    # The tests of the rules themselves have examples, which are nobody's.
    about_them = told.text.partition("Laws and the rules' own tests")[0]
    assert "of 1 cases would move" in about_them
    desk.told.append(dataclasses.replace(told, text=about_them))


def weeks_of_a_record(desk: Desk) -> None:
    for reader in READERS:
        desk.type("phases", desk.case, "--for", reader, "--imperial")
        at = ("--record", desk.record, "--as-of", LATER, "--for", reader)
        desk.type("review", desk.case, *at)
        desk.type("review", desk.case, *at, "--imperial")
        desk.type("review", desk.case, *at, "--message")
        desk.type("plan", desk.case, "--format", "html", "--no-week", *at)
    desk.type("referral", desk.case)
    desk.type("referral", desk.case, "--imperial")


def record(desk: Desk) -> None:
    db = ("--db", str(desk.folder / "data" / "records.sqlite3"))
    (desk.folder / "data").mkdir(mode=0o700)
    day = ("--as-of", "2026-01-12")
    desk.type("client", "add", "Invented Person", "--case", desk.case, *db, *day)
    desk.type("checkin", "invented-person", "--from", desk.record, *db, "--as-of", LATER)
    desk.type("client", "list", *db, *day)
    desk.type("client", "show", "invented-person", *db, "--as-of", LATER, own=True)
    desk.type("client", "export", "invented-person", *db, "--as-of", LATER, own=True)
    for form in ("text", "json"):
        desk.type("today", "--all", "--format", form, *db, "--as-of", LATER)
    for reader in READERS:
        desk.type("review", "invented-person", *db, "--as-of", LATER, "--for", reader)
        desk.type("phases", "invented-person", *db, "--as-of", LATER, "--for", reader)
    for language in ("en", "de"):
        message = ("--message", "--language", language)
        desk.type("review", "invented-person", *message, *db, "--as-of", LATER)
    desk.type("review", "invented-person", "--accept", *db, "--as-of", LATER)
    desk.type("week", "invented-person", "--log-sheet", *db, "--as-of", LATER)
    desk.type("exchange", "measures", "invented-person", *db, "--as-of", LATER, own=True)
    desk.type("client", "check", *db, *day)


def logs(desk: Desk) -> None:
    log = ("--log", str(desk.folder / "log.jsonl"))
    desk.type("plan", desk.case, "--for", "client", "--no-week", *log)
    desk.type("log", "list", *log)
    desk.type("log", "show", "1", *log, own=True)
    desk.type("log", "verify", *log)
    desk.type("log", "replay", *log)
    for line, value in (("food.target", "2000"), ("food.protein", "120")):
        change = ("--line", line, "--to", value, "--by", "coach", "--reason", "they asked for it")
        desk.type("log", "override", "1", *change, *log)
    for form in ("text", "csv", "html"):
        desk.type("log", "report", "--format", form, *log)
    desk.read(desk.folder / "log.jsonl", own=True)


def files(desk: Desk) -> None:
    for to in ("fhir", "csv", "json"):
        desk.type("exchange", "export", "--to", to, desk.case, own=True)
    for what in ("questions", "plan"):
        desk.type("exchange", "export", "--to", "fhir", "--what", what, desk.case)
    case = dict(line.split(": ", 1) for line in ("name: Invented Person",))
    answers = _yaml_answers(Path(desk.case))
    many = desk.folder / "cases.jsonl"
    many.write_text(json.dumps({**case, "as_of": "2026-01-12", "answers": answers}) + "\n", "utf-8")
    for form in ("text", "json", "html"):
        for reader in READERS:
            out = desk.folder / f"{form}-{reader}"
            desk.type("batch", str(many), "--out", str(out), "--no-week", "--workers", "0",
                      "--each", form, "--for", reader)  # fmt: skip
            desk.type("batch", "report", str(out))
            for path in sorted(p for p in out.rglob("*") if p.is_file()):
                if path.suffix == ".parquet":
                    columns(desk, path)
                else:
                    desk.read(path)


def columns(desk: Desk, part: Path) -> None:
    """The case as it was given is in a part, as the person's own; all else in it is read for figures."""
    for row in rows(part):
        desk.told.append(Told(part.name, _bare(str(row.pop("case"))), own=True))
        plan, more = row.pop("plan"), json.dumps({k: v for k, v in row.items() if v is not None})
        desk.told += [Told(part.name, _bare(text)) for text in (plan, more)]


def errors(desk: Desk) -> None:
    for reader in READERS:
        desk.type("why", desk.case, "food.target", "--for", reader)
        desk.type("why", desk.case, "energy.tarjet_kcal_per_day", "--for", reader)
        desk.type("why-not", desk.case, "energy.target_kcal_per_day=2000", "--for", reader)
        desk.type("flip", desk.case, "protein.g_per_day", ">=10", "--for", reader)
        desk.type("picture", desk.case, "food.target", "--for", reader)
        desk.type("what-if", desk.case, "sleep=x", "--for", reader)
    desk.type("week", desk.case, "--missed", "someday")
    desk.type("plan", desk.case, "--format", "ics", "--timezone", "Nowhere/Else")


def _yaml_answers(path: Path) -> dict[str, object]:
    found: dict[str, object] = {}
    for line in path.read_text("utf-8").splitlines()[3:]:
        key, value = line.strip().split(": ", 1)
        inside = value.strip("[]")
        if value.startswith("["):
            found[key] = [item.strip() for item in inside.split(",") if item.strip()]
        else:
            try:
                found[key] = json.loads(value)
            except ValueError:
                found[key] = value
    return found


ERRANDS: Mapping[str, Callable[[Desk], None]] = {
    errand.__name__: errand
    for errand in (
        plans,
        sessions,
        reasons,
        audits,
        trials,
        weeks_of_a_record,
        record,
        logs,
        files,
        errors,
    )
}
# Commands that print no plan, or nothing of a person: rules, checks, schemas, the questions themselves;
# what `mcp` tells of a person is what `why` prints (tests/exchange/test_asked_over_stdio.py).
OF_NO_PERSON = {"serve", "team", "check", "schema", "intake", "mcp", "where", "completion", "man"}
# The default run does these for one person; the long run everything for everybody.
QUICK = {("two eating items", name) for name in ("audits", "weeks_of_a_record", "record", "logs")}


def people_and_errands() -> Iterator[object]:
    for name in FLAGGED:
        for errand in ERRANDS:
            slow = [] if (name, errand) in QUICK else [pytest.mark.slow]
            yield pytest.param(name, errand, marks=slow, id=f"{name}-{errand}")


def record_of(case: Case, clear: Case, folder: Path) -> Path:
    """Write the record with this person's weight: weighings of somebody heavier would clear a thin one."""
    share = float(str(case.answers["client.weight_kg"])) / float(
        str(clear.answers["client.weight_kg"])
    )
    rows = list(csv.DictReader(RECORD.read_text("utf-8").splitlines()))
    path = folder / "record.csv"
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, rows[0])
        writer.writeheader()
        for row in rows:
            weight = row["weight_kg"] and f"{float(row['weight_kg']) * share:.1f}"
            writer.writerow({**row, "weight_kg": weight})
    return path


def secrets(
    kb: KnowledgeBase, clear: Case, flagged: Case, planner: Planner, record: Path
) -> tuple[frozenset[str], set[str], set[str]]:
    """Return what is hidden, its figures, and those of them that only the rules can have worked out."""
    hidden = withheld_outputs(planner.run(flagged))
    weight = {"client.weight_kg": flagged.answers["client.weight_kg"]}
    unflagged = dataclasses.replace(clear, answers={**clear.answers, **weight})
    every = _secret_figures(kb, unflagged, planner, hidden) | _secret_figures(
        kb, flagged, planner, hidden
    )
    every |= _recorded_figures(kb, unflagged, record, hidden)
    # A figure that somebody may read for another reason (hours of sleep, sets) proves nothing.
    every -= _recorded_figures(kb, unflagged, record, hidden, may_be_read=True)
    own = {f"{value:g}" for value in flagged.answers.values() if isinstance(value, float)}
    own |= {f"{float(figure):g}" for figure in _figures(record.read_text("utf-8"))}
    worked_out = {figure for figure in every if f"{float(figure):g}" not in own}
    return hidden, every, worked_out


def _recorded_figures(
    kb: KnowledgeBase,
    case: Case,
    record: Path,
    hidden: frozenset[str],
    *,
    may_be_read: bool = False,
) -> set[str]:
    """Return the figures that the weeks of a record would show: those withheld, or all others."""
    later = planner_on(dt.date.fromisoformat(LATER))
    history, _ = read_record(record, checkin_book(kb, later.on))
    found = findings_of(kb, case, history, later.on)
    assert found is not None
    figures: set[str] = set()
    for key, fact in later.run(case, found).facts.items():
        value, reveals = fact.value, set(kb.facts[split_key(key)[0]].reveals)
        if isinstance(value, bool) or not isinstance(value, int | float):
            continue
        if may_be_read and not hidden & reveals:
            figures |= {f"{value:.0f}", f"{value:.1f}", f"{value:g}"}
        if not may_be_read and hidden & reveals and abs(value) >= 13:
            figures |= {f"{value:.0f}", f"{value:.1f}", f"{round(value, -1):.0f}"}
    return figures


@pytest.mark.parametrize(("name", "errand"), [*people_and_errands()])
def test_no_command_tells_a_withheld_figure(
    kb: KnowledgeBase,
    clear: Case,
    planner: Planner,
    name: str,
    errand: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    flagged = dataclasses.replace(clear, answers={**clear.answers, **FLAGGED[name]})
    own = record_of(flagged, clear, tmp_path)
    hidden, every, worked_out = secrets(kb, clear, flagged, planner, own)
    if "energy_number" not in hidden:  # the figures of food stay, those of the body go
        pytest.skip("what stays is told apart in test_withheld_figures")
    desk = Desk(tmp_path, _file(tmp_path, flagged), own, capsys)
    ERRANDS[errand](desk)
    assert desk.told
    # What somebody typed themselves is told to nobody by repeating it.
    leaks = [
        f"{told.command}: {_near(told.text, figure)}"
        for told in desk.told
        for figure in sorted(
            (_figures(told.text) - _figures(told.command)) & (worked_out if told.own else every)
        )
    ]
    assert not leaks, "\n".join(leaks)


def _near(text: str, figure: str) -> str:
    flat = " ".join(text.split())
    at = max(flat.find(figure), 0)
    return f"{figure} in: {flat[max(at - 60, 0) : at + 60]}"


def test_the_search_knows_every_command() -> None:
    source = Path(__file__).read_text("utf-8")
    near = (ROOT / "tests/plan/test_withheld_figures.py").read_text("utf-8")
    for command in set(COMMANDS) - OF_NO_PERSON:
        assert re.search(rf'"{command}"', source + near), command


@pytest.mark.parametrize(
    "errand",
    [
        "logs",
        *(
            pytest.param(name, marks=pytest.mark.slow)
            for name in ("plans", "weeks_of_a_record", "record", "files")
        ),
    ],
)
def test_the_search_finds_the_figures_of_somebody_without_flags(
    kb: KnowledgeBase,
    clear: Case,
    planner: Planner,
    errand: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    flagged = dataclasses.replace(clear, answers={**clear.answers, **FLAGGED["two eating items"]})
    own = record_of(clear, clear, tmp_path)
    _, every, worked_out = secrets(kb, clear, flagged, planner, own)
    desk = Desk(tmp_path, _file(tmp_path, clear), own, capsys)
    ERRANDS[errand](desk)
    finding = [t for t in desk.told if _figures(t.text) & (worked_out if t.own else every)]
    assert len(finding) >= 2, [t.command for t in desk.told]
