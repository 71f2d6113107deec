"""`whyplan exchange`: answers, measures, sessions and decision tables for other programs."""

import argparse
import dataclasses
import sys

from assistant.casefiles.cases import MAX_NAME
from assistant.cli.common import checked_name, parse_day, steps_aside, today
from assistant.cli.files import free_path, keep_inputs, read_input, write_output
from assistant.cli.person import case_file, person_of
from assistant.cli.record import desk_of
from assistant.clients.book import knowledge
from assistant.clients.person import Person
from assistant.exchange.answers_csv import answers_csv, read_answers_csv
from assistant.exchange.bundle import bundle, dated_bundle, json_bytes
from assistant.exchange.bundle_reader import read_bundle
from assistant.exchange.dmn.decisions import decisions_of, tables_of
from assistant.exchange.dmn.xml import dmn_bytes
from assistant.exchange.plan_resources import care_plan, plan_definition
from assistant.exchange.portable import NO_NAME, case_json, portable
from assistant.exchange.questionnaire import questionnaire
from assistant.exchange.week_csv import week_csv
from assistant.intake.case_file import case_text
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.history import History
from assistant.model.plan import Plan
from assistant.plan.visibility import visible_conclusions

# What each form has a place for; the first is what is sent unless `--what` says otherwise.
FORMS = {
    "fhir": ("all", "questions", "plan"),
    "csv": ("answers", "week"),
    "json": ("answers",),
}
_READERS = {"fhir": read_bundle, "csv": read_answers_csv}


def run_export(args: argparse.Namespace) -> int:
    """Write the file and say on the error stream what it lacks."""
    what = args.what or FORMS[args.to][0]
    if what not in FORMS[args.to]:
        text = f"`{what}` has no place in {args.to}; allowed: {', '.join(FORMS[args.to])}"
        raise InputProblems([Problem("--what", "bad-value", text)])
    if (path := case_file(args.who)) is not None:
        keep_inputs(args.out, path)
    person = person_of(args, args.who)
    case, planner = person.case, person.planner
    if what == "week":
        return _export_week(args, person)
    if what == "questions":
        write_output(args.out, json_bytes(questionnaire(planner.kb, case.as_of)))
        return 0
    if steps_aside(case, planner.kb):
        return 1
    sent = portable(case, with_name=args.with_name, whole=args.to == "json")
    if args.to == "csv":
        content = answers_csv(planner.kb, sent)
    elif args.to == "json":
        content = json_bytes(case_json(case, sent))
    elif what == "plan":
        content = json_bytes(
            care_plan(planner.kb, _plan(person), sent, args.client_id or case.name)
        )
    else:
        identity = args.client_id or case.name
        content = json_bytes(bundle(planner.kb, sent, identity, _shown(person)))
    write_output(args.out, content)
    for line in sent.left_out:
        print(f"left out: {line}", file=sys.stderr)
    return 0


def _shown(person: Person) -> dict[str, bool | float | str | tuple[str, ...]]:
    """Return conclusions the coach may see; what the screen takes away stays away here too."""
    visible = visible_conclusions(person.planner.kb, person.run(), "coach")
    return {key: fact.value for key, fact in visible.items()}


def _plan(person: Person) -> Plan:
    narrator = person.narrator("coach")
    week = person.week(narrator.run)
    return person.planner.plan(person.case, narrator, None if week is None else week.programme)


def _export_week(args: argparse.Namespace, person: Person) -> int:
    run = person.run()
    week = person.week(run)
    if week is None or not week.programme.sessions:
        print("No week: `whyplan plan` says why.", file=sys.stderr)
        return 1
    write_output(args.out, week_csv(person.with_next_loads(week.programme, week.request, run)))
    return 0


def run_import(args: argparse.Namespace) -> int:
    """Make a case of the file; nothing is written where anything in it is wrong."""
    kb = knowledge(args.rules, None)
    free_path(args.out)
    found = _READERS[args.form](read_input(args.file), str(args.file), kb)
    name = args.name if args.name is not None else found.name or NO_NAME
    if not name.strip() or not name.isprintable() or len(name) > MAX_NAME:
        text = f"a name is one line of 1 to {MAX_NAME} printable characters; give it with --name"
        raise InputProblems([Problem("--name", "bad-name", text)])
    as_of = parse_day(args.as_of) if args.as_of else found.as_of
    case = dataclasses.replace(Case(name, as_of, found.answers))
    if steps_aside(case, kb):
        return 1
    write_output(args.out, case_text(case.name, case.as_of, case.answers).encode())
    for line in found.left_out:
        print(f"left out: {line}", file=sys.stderr)
    print(f"Case written to {args.out}")
    return 0


def run_measures(args: argparse.Namespace) -> int:
    """Write the dated measures of a client's record; 1 where it holds none."""
    with desk_of(args).opened() as records:
        client = records.client(args.client)
        now = desk_of(args).standing(records, args.client)
    case, history = now.case, now.history or History()
    kb = knowledge(args.rules, args.house)
    sent = dated_bundle(kb, case, history, client.token, with_name=args.with_name)
    if sent is None:
        print(f"The record of {client.name} holds no weight and no girth.", file=sys.stderr)
        return 1
    write_output(args.out, json_bytes(sent))
    print("left out: food, lifts, sessions, pains and notes", file=sys.stderr)
    return 0


def run_rules(args: argparse.Namespace) -> int:
    """Write the rule book with its sources."""
    kb = knowledge(args.rules, args.house, today())
    write_output(args.out, json_bytes(plan_definition(kb)))
    return 0


def run_dmn(args: argparse.Namespace) -> int:
    """Write decision tables; what DMN cannot say is told on the error stream, 1 where nothing is left."""
    on = parse_day(args.as_of) if args.as_of else today()
    kb = knowledge(args.rules, args.house, on)
    tables = tables_of(kb)
    checked_name("TABLE", args.table, ("all", *tables))
    found = [decisions_of(kb, name, on) for name in tables if args.table in {"all", name}]
    for line in (line for _, left_out in found for line in left_out):
        print(f"left out: {line}", file=sys.stderr)
    made = [decision for decisions, _ in found for decision in decisions]
    if made:
        write_output(args.out, dmn_bytes(kb, args.table, made, on))
    return 0 if made else 1
