"""Counts over many clients, against a plain count of the very lines of the log.

The plain count below reads the lines with `json` and counts with dictionaries; it shares no code with the program.
"""

import csv
import datetime as dt
import io
import json
import random
import time
from collections import defaultdict
from pathlib import Path

import pytest

from assistant.audit.chain import sealed
from assistant.casefiles.decisions import read_decisions
from assistant.casefiles.edits import read_edits
from assistant.casefiles.overrides import read_overrides
from assistant.cli.main import main
from assistant.knowledge.parsed import Parsed
from assistant.model.entries import Entry
from assistant.model.knowledge import KnowledgeBase
from assistant.model.tally import HandChange
from assistant.records.chain import NewLine
from assistant.records.projection import entry_line
from assistant.records.store import open_records
from assistant.records.versions import version_lines

ROOT = Path(__file__).parents[2]
Counts = dict[str, dict[str, tuple[int, int | None]]]
REASONS = (
    "pain: the knee",
    "taste: likes rice better",
    "a busy month",
    "food: shifts",
    "=1+1 she said",
)
COACHES = ("L. Marrow", "Noor  Abell", "head trainer")
LINES = ("food.protein", "recovery.sleep", "training.block", "training.session_cap")
DAYS = ("2026-02-11", "2026-03-04", "2026-03-30")
BUDGET_SECONDS = 5.0


def generated(real: list[dict], count: int, path: Path) -> None:
    """Write a log of so many plans and some changes of them: real plans, dealt out anew."""
    rng = random.Random(4711)
    previous = None
    with path.open("wb") as out:
        plans: list[int] = []
        while len(plans) < count:
            body = dict(rng.choice(real))
            outcome = dict(body["outcome"])
            outcome["fired"] = sorted(
                rng.sample(outcome["fired"], len(outcome["fired"]) - rng.randrange(9))
            )
            body["outcome"] = outcome
            body["client"] = f"c-{rng.randrange(1 + count // 6):012d}"
            body["as_of"] = f"2026-{rng.randrange(1, 13):02d}-{rng.randrange(1, 29):02d}"
            made = rng.sample(LINES, rng.choice((0, 0, 0, 1, 2)))
            body["overrides"] = [_override(rng, line, outcome) for line in made]
            edit = {"never": rng.choice(("squat_goblet", "push_up")), **_signed(rng)}
            body["wishes"] = {"edits": [edit]} if rng.random() < 0.2 else {}
            aside = {"kind": "set_aside", "flag": "low_mood", "until": "2026-04-01", **_signed(rng)}
            body["decisions"] = [aside] if rng.random() < 0.1 else []
            line, previous = sealed(body, previous)
            out.write(line)
            plans.append(previous.sequence)
            if rng.random() < 0.2 and outcome["lines"].get("food.protein"):
                rule = outcome["lines"]["food.protein"]["rule"]
                change = {
                    "format": 1, "kind": "override", "written": f"{rng.choice(DAYS)}T09:00:00+00:00",
                    "decision": plans[-1], "decision_id": body["id"], "line": "food.protein",
                    "fact": "protein.g_per_day", "rule": rule, "was": 120, "to": rng.choice((110, 130)),
                    "by": rng.choice(COACHES), "reason": rng.choice(REASONS),
                }  # fmt: skip
                line, previous = sealed(change, previous)
                out.write(line)


def _signed(rng: random.Random) -> dict:
    return {"by": rng.choice(COACHES), "reason": rng.choice(REASONS), "since": rng.choice(DAYS)}


def _override(rng: random.Random, line: str, outcome: dict) -> dict:
    held = {"was": rng.choice((5, 8))} if line in outcome["lines"] and rng.random() < 0.9 else {}
    return {"line": line, "to": rng.choice((6, 7)), **_signed(rng), **held}


def counted_plainly(path: Path, kb: KnowledgeBase) -> Counts:  # noqa: C901, PLR0912  one plain loop
    """Count the lines of a log without any of the program's own counting."""
    counts: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    changes: dict[str, tuple] = {}
    plans, clients, changed, roles = 0, set(), defaultdict(set), set()
    for raw in path.read_text("utf-8").splitlines():
        entry = json.loads(raw)
        if entry["kind"] == "override":
            key = f"past {entry['decision']} {entry['line']}"
            changes[key] = (entry["line"], entry["rule"], entry["by"], entry["written"], entry["reason"],
                            "up" if entry["to"] > entry["was"] else "down")  # fmt: skip
            changed[entry["rule"]].add(entry["decision"])
            continue
        plans += 1
        who = entry["client"]
        clients.add(who)
        counts["plans"][entry["as_of"][:7]] += 1
        for rule in {name.split("[")[0] for name in entry["outcome"]["fired"]}:
            counts["fired"][rule] += 1
        for each in entry["overrides"]:
            line = entry["outcome"]["lines"].get(each["line"])
            rule = line["rule"] if line else ""
            way = "other"
            if "was" in each:
                way = "up" if each["to"] > each["was"] else "down"
                changed[rule].add(entry["sequence"])
            key = f"{who} {each['line']} {each['since']} {each['to']}"
            if key not in changes:
                changes[key] = (each["line"], rule, each["by"], each["since"], each["reason"], way)
        for each in entry["wishes"].get("edits", []):
            line = f"week.never[{each['never']}]"
            key = f"{who} {line} {each['by']} {each['reason']} {each['since']}"
            changes[key] = (line, "", each["by"], each["since"], each["reason"], "other")
        for each in entry["decisions"]:
            key = f"{who} aside {each['since']}"
            if key not in changes:
                line = "set_aside[low_mood]"
                changes[key] = (line, "", each["by"], each["since"], each["reason"], "other")
        for fact in entry["outcome"]["facts"]:
            if fact.startswith("screen.referral_urgency["):
                roles.add((who, fact[len("screen.referral_urgency[") : -1]))
    for line, rule, by, day, reason, way in changes.values():
        code = reason.split(":")[0] if ":" in reason else "in other words"
        for table, item in (
            ("by-line", line), ("by-rule", rule or "no one rule"), ("by-coach", " ".join(by.split())),
            ("by-month", day[:7]), ("by-reason", code), ("by-direction", way), ("reasons", f"{line}: {reason}"),
        ):  # fmt: skip
            counts[table][item] += 1
    for _, role in roles:
        counts["referred"][role] += 1
    fired = counts["fired"]
    of = {"plans": plans, "fired": plans, "referred": len(clients), "reasons": None}
    told: Counts = {
        table: {item: (n, of.get(table, len(changes))) for item, n in rows.items()}
        for table, rows in counts.items()
    }
    told["changed-in"] = {rule: (len(where), fired[rule]) for rule, where in changed.items()}
    told["review"] = {
        rule: (len(where), fired[rule])
        for rule, where in changed.items()
        if len(where) >= 3 and 100 * len(where) >= 10 * fired[rule]
    }
    told["never-fired"] = {rule: (0, plans) for rule in kb.rules if not fired[rule]}
    return {table: rows for table, rows in told.items() if rows}


def reported(capsys: pytest.CaptureFixture[str], *words: str) -> Counts:
    capsys.readouterr()
    assert main(["log", "report", "--format", "csv", *words]) == 0
    told: Counts = defaultdict(dict)
    for row in csv.DictReader(io.StringIO(capsys.readouterr().out)):
        item = row["item"].removeprefix("'")
        assert item not in told[row["table"]], "every row stands once"
        told[row["table"]][item] = (int(row["count"]), int(row["of"]) if row["of"] else None)
    return dict(told)


def real_plans(log: Path) -> list[dict]:
    sealed_with = ("sequence", "previous", "hash")
    entries = [json.loads(line) for line in log.read_text("utf-8").splitlines()]
    return [{k: v for k, v in entry.items() if k not in sealed_with} for entry in entries]


def test_a_report_counts_what_a_plain_count_counts(
    kb: KnowledgeBase, logged_cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.jsonl"
    generated(real_plans(logged_cases), 120, log)
    plain = counted_plainly(log, kb)
    assert {"review", "by-rule", "referred", "by-direction"} <= plain.keys()
    assert {"up", "down", "other"} == plain["by-direction"].keys()
    assert reported(capsys, "--log", str(log)) == plain


@pytest.mark.slow
def test_five_thousand_plans_are_counted_rightly_and_soon(
    kb: KnowledgeBase, logged_cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.jsonl"
    generated(real_plans(logged_cases), 5000, log)
    plain = counted_plainly(log, kb)
    begun = time.process_time()
    told = reported(capsys, "--log", str(log))
    assert time.process_time() - begun < BUDGET_SECONDS
    assert told == plain


def test_the_page_and_the_print_say_the_same(
    logged_cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.jsonl"
    generated(real_plans(logged_cases), 60, log)
    told = reported(capsys, "--log", str(log))
    assert main(["log", "report", "--log", str(log)]) == 0
    printed = capsys.readouterr().out
    page = tmp_path / "report.html"
    assert main(["log", "report", "--log", str(log), "--format", "html", "--out", str(page)]) == 0
    html = page.read_text("utf-8")
    first, (count, of) = next(iter(told["review"].items()))
    assert f"- {first}: {count} of {of}" in printed
    assert f'<th scope="row">{first}' in html
    assert html.count("<svg") >= 8
    assert "<script" not in html
    assert "http" not in html.replace("http-equiv", "")
    assert "'=1+1" not in html, "only a spreadsheet needs the apostrophe"


def test_what_the_record_knows_is_counted_once_beside_the_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two were to see somebody: one did. One line was changed, and stands in two versions."""
    folder = tmp_path / "data"
    folder.mkdir(mode=0o700)
    db = str(folder / "records.sqlite3")
    day = dt.date(2026, 2, 2)
    digest = {"facts": {"protein.g_per_day": 120.0, "review.next_date": "2026-03-01"},
              "referrals": [{"to": "physician", "urgency": "routine", "for": ["bp_high"]}]}  # fmt: skip
    change = {"line": "food.protein", "to": 130.0, "by": "L. Marrow", "reason": "food: shifts",
              "since": day.isoformat()}  # fmt: skip
    told = NewLine("answers", day, day, body=json.dumps({"answers": {}, "overrides": [change]}))
    with open_records(db, day) as records:
        for name in ("Ines Invented", "Otto Invented"):
            records.add(name, day, version_lines(digest, day, "added"))
        ines = records.client("Ines Invented")
        seen = entry_line(Entry("referral", day, 1.0, "physician"), day)
        records.append(ines, [told, told, seen])
    assert (
        main(["log", "report", "--db", db, "--format", "csv", "--log", str(_empty(tmp_path))]) == 0
    )
    rows = {(row["table"], row["item"]): (row["count"], row["of"])
            for row in csv.DictReader(io.StringIO(capsys.readouterr().out))}  # fmt: skip
    assert rows["by-line", "food.protein"] == ("1", "1")
    assert rows["by-direction", "up"] == ("1", "1")
    assert rows["by-reason", "food"] == ("1", "1")
    assert rows["referred", "physician"] == ("2", "2")
    assert rows["seen", "physician"] == ("1", "2")
    assert rows["asked", "not asked"] == ("1", "2")


@pytest.mark.parametrize(
    ("was", "to", "way"),
    [
        (120, 130.5, "up"), (5, 4, "down"), ("2026-03-01", "2026-02-01", "earlier"),
        ("2026-03-01", "2026-03-02", "later"), (None, 5, "other"), (True, False, "other"), ("a", "b", "other"),
    ],
)  # fmt: skip
def test_a_change_goes_one_way(was: object, to: object, way: str) -> None:
    assert (
        HandChange("food.protein", "", "L. Marrow", "2026-01-12", "ill", was, to).direction == way
    )


def test_a_logged_plan_keeps_what_the_rules_said(tmp_path: Path) -> None:
    case, log = tmp_path / "case.yaml", tmp_path / "log.jsonl"
    change = {"line": "food.protein", "to": 120, "by": "L. Marrow", "reason": "food: shifts",
              "since": "2026-01-12"}  # fmt: skip
    text = (ROOT / "cases/four_days.yaml").read_text("utf-8")
    for more in ("", f"\noverrides: {json.dumps([change])}\n"):
        case.write_text(text + more, "utf-8")
        assert main(["plan", str(case), "--no-week", "--log", str(log)]) == 0
    plain, changed = (
        body["outcome"]["facts"]["protein.g_per_day"]["value"] for body in real_plans(log)
    )
    (made,) = real_plans(log)[1]["overrides"]
    assert (made["was"], made["to"]) == (plain, changed)
    assert plain != changed == 120


def _empty(folder: Path) -> Path:
    path = folder / "log.jsonl"
    path.write_bytes(b"")
    return path


@pytest.mark.parametrize("reason", ["x", "xxxx", "...", "12", "Test", "pain: x", "because", "n/a"])
def test_a_reason_that_says_nothing_is_refused(kb: KnowledgeBase, reason: str) -> None:
    written = {"line": "food.protein", "to": 130, "by": "L. Marrow", "reason": reason,
               "since": "2026-01-12"}  # fmt: skip
    problems: list = []
    assert read_overrides([written], kb, Parsed("case.yaml", {}, {}), problems) == ()
    assert problems[0].code == "empty-reason"
    assert "professional" in problems[0].text, "the codes are told"
    # One that is in the record already stays readable.
    assert read_overrides([written], kb, Parsed("record", {}, {}), [], kept=True)


@pytest.mark.parametrize(("reason", "codes"), [("x", ["empty-reason"]), ("pain: the knee", [])])
def test_an_edit_and_a_decision_need_one_too(kb: KnowledgeBase, reason: str, codes: list) -> None:
    signed = {"by": "L. Marrow", "reason": reason, "since": "2026-01-12"}
    aside = {**signed, "set_aside": "low_mood", "role": "coach", "until": "2026-02-01"}
    for read, written in ((read_edits, {**signed, "never": "push_up"}), (read_decisions, aside)):
        problems: list = []
        read([written], kb, Parsed("case.yaml", {}, {}), problems)
        assert [each.code for each in problems] == codes, problems


@pytest.mark.parametrize("reason", ["pain", "Pain: the knee", "likes it", "schläft kaum", "ill"])
def test_a_reason_in_words_or_a_code_is_taken(kb: KnowledgeBase, reason: str) -> None:
    assert kb.overrides.reasons.tells(reason)
