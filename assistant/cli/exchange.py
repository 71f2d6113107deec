"""`whyplan exchange export|import`: answers, measures and sessions for other programs."""

import argparse
import dataclasses
import sys
from pathlib import Path

from assistant.cli.common import add_common_options, knowledge, parse_day
from assistant.cli.files import keep_inputs, read_input, write_output
from assistant.cli.person import Person, add_person_argument, case_file, person_of
from assistant.cli.record import add_record_options, add_rule_options, client_history, opened
from assistant.cli.session_only import steps_aside
from assistant.exchange.answers_csv import answers_csv, read_answers_csv
from assistant.exchange.bundle import bundle, json_bytes
from assistant.exchange.bundle_reader import read_bundle
from assistant.exchange.case_json import NO_NAME, case_json
from assistant.exchange.dated_measures import dated_bundle
from assistant.exchange.portable import portable
from assistant.exchange.questionnaire import questionnaire
from assistant.exchange.week_csv import week_csv
from assistant.intake.case_file import case_text
from assistant.knowledge.cases import MAX_NAME
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.plan.visibility import visible_conclusions
from assistant.plan.week import week_of

# What each form has a place for; the first is what is sent unless `--what` says otherwise.
FORMS = {
    "fhir": ("all", "questions"),
    "csv": ("answers", "week"),
    "json": ("answers",),
}
_READERS = {"fhir": read_bundle, "csv": read_answers_csv}


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser(
        "exchange", help="answers and sessions for other programs, and back"
    )
    ways = parser.add_subparsers(dest="way", required=True, metavar="export|import|measures")
    out = ways.add_parser("export", help="write a case as FHIR, CSV or JSON")
    add_person_argument(out)
    out.add_argument("--to", choices=tuple(FORMS), required=True, help="form of the file")
    words = sorted({word for form in FORMS.values() for word in form})
    out.add_argument(
        "--what", choices=words, help="part to send: fhir all|questions, csv answers|week"
    )
    out.add_argument("--with-name", action="store_true", help="send the client's name along")
    out.add_argument("--client-id", metavar="ID", help="what tells this client from others")
    out.add_argument("--out", type=Path, metavar="FILE", help="write there, not to the screen")
    add_common_options(out)
    out.set_defaults(run=run_export)
    back = ways.add_parser("import", help="make a case of a FHIR or CSV file")
    back.add_argument("file", type=Path, metavar="FILE", help="file from elsewhere")
    back.add_argument(
        "--from", dest="form", choices=tuple(_READERS), required=True, help="its form"
    )
    back.add_argument("--out", type=Path, metavar="CASE", required=True, help="case file to make")
    back.add_argument("--name", metavar="NAME", help="the client's name (default: the file's)")
    back.add_argument("--as-of", metavar="DATE", help="day of the answers (default: the file's)")
    back.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    back.set_defaults(run=run_import)
    kept = ways.add_parser("measures", help="weights and girths of a client's record, as FHIR")
    kept.add_argument("client", metavar="CLIENT", help="name in the record")
    kept.add_argument("--with-name", action="store_true", help="send the client's name along")
    kept.add_argument("--out", type=Path, metavar="FILE", help="write there, not to the screen")
    add_record_options(kept)
    add_rule_options(kept)
    kept.set_defaults(run=run_measures)


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
        write_output(args.out, json_bytes(questionnaire(planner.kb)))
        return 0
    if steps_aside(case, planner.kb):
        return 1
    sent = portable(case, with_name=args.with_name, whole=args.to == "json")
    if args.to == "csv":
        content = answers_csv(planner.kb, sent)
    elif args.to == "json":
        content = json_bytes(case_json(case, sent))
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


def _export_week(args: argparse.Namespace, person: Person) -> int:
    programme = week_of(person.run(), person.planner.catalogue, wishes=person.case.week)
    if programme is None or not programme.sessions:
        print("No week: `whyplan plan` says why.", file=sys.stderr)
        return 1
    write_output(args.out, week_csv(programme))
    return 0


def run_import(args: argparse.Namespace) -> int:
    """Make a case of the file; nothing is written where anything in it is wrong."""
    kb = knowledge(args.rules, None)
    if args.out.exists():
        text = "this file exists already; choose another name with --out"
        raise InputProblems([Problem(str(args.out), "file-exists", text)])
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
    with opened(args) as records:
        client = records.client(args.client)
        case, history = client_history(args, records, args.client)
    kb = knowledge(args.rules, args.house)
    sent = dated_bundle(kb, case, history, client.token, with_name=args.with_name)
    if sent is None:
        print(f"The record of {client.name} holds no weight and no girth.", file=sys.stderr)
        return 1
    write_output(args.out, json_bytes(sent))
    print("left out: food, lifts, sessions, pains and notes", file=sys.stderr)
    return 0
