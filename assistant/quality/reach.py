"""Over many invented people: does every rule fire for somebody, and do both engines agree?"""

import re
from dataclasses import replace

from assistant.engine import compile_knowledge, durable, run_engine
from assistant.model.errors import EngineFault
from assistant.quality.climb import MOST_STEPS, climb
from assistant.quality.finding import Finding
from assistant.quality.records import need_a_record
from assistant.quality.runner import day_of, outcomes, people_of
from assistant.quality.suite import Checked, Options, Subject

MOST_TOLD = 10
# Two engines and all verdicts cost several times a plain run.
PEOPLE_PER_COMPARISON = 15


def check_reachability(subject: Subject, options: Options) -> Checked:
    """Which rules nobody reaches: first over many people, then aimed at each rule that is left."""
    kb = subject.kb
    assert kb is not None  # run_checks saw to it
    book = compile_knowledge(kb, day_of(options))
    count = 0
    reached: dict[str, str] = {}
    broken: list[Finding] = []
    for ran in outcomes(book, options, subject.calculators):
        count += 1
        if ran.outcome is None:
            broken.append(_broken(ran.who, ran.fault, subject))
            continue
        for owner in ran.outcome.conclusions:
            reached.setdefault(book.rules[owner].rule.id, ran.who)
    kept = need_a_record(kb)
    in_force = {
        bound.rule.id for bound in book.rules if bound.in_force and bound.rule.id not in kept
    }
    searched = 0
    for rule_id in sorted(in_force - set(reached)):
        steps = climb(book, options, rule_id, subject.calculators)
        searched += len(steps)
        if steps and steps[-1].fired:
            reached[rule_id] = f"a person aimed at {rule_id}"
    missed = sorted(in_force - set(reached))
    found = [
        Finding(
            kb.places[rule_id].file,
            kb.places[rule_id].line,
            "unreached-rule",
            f"{rule_id} fired for none of {count} people, nor of {MOST_STEPS} aimed at it",
            "see if its conditions can meet, or try more people with --people",
            "reachability",
        )
        for rule_id in missed
    ]
    said = (
        f"{len(in_force - set(missed))} of {len(in_force)} rules fired for one of {count} people "
        f"(or of {searched} more, aimed at what was left)"
    )
    if kept:
        said += f"; {len(kept)} rules need a client's record, which these people do not have"
    details = {
        "people": count,
        "aimed": searched,
        "rules": len(in_force),
        "unreached": missed,
        "need_a_record": sorted(kept),
    }
    return Checked("reachability", tuple(sorted(found + broken[:MOST_TOLD])), said, details)


def _broken(who: str, fault: str, subject: Subject) -> Finding:
    """A run that broke off, at the rule its message names."""
    kb = subject.kb
    assert kb is not None  # the caller saw to it
    rule_id = re.search(r"rules? ([A-Z]{3}-[A-Z0-9_-]+)", fault)
    named = rule_id[1] if rule_id is not None and rule_id[1] in kb.rules else None
    place = kb.places[named] if named is not None else kb.places[f"book:{kb.book.name}"]
    return Finding(
        place.file,
        place.line,
        "broken-run",
        f"there is no plan for {who}: {fault}",
        "let the rules that meet there exclude each other, or guard the calculation",
        "reachability",
    )


def check_engines(subject: Subject, options: Options) -> Checked:
    """Whether both engines and the verdict pass agree on every case and person."""
    kb = subject.kb
    assert kb is not None  # run_checks saw to it
    if not durable.importable():
        said = "only CLIPS is installed here; nothing to compare it with but the verdict pass"
        return Checked("engines", _agree(subject, options, "clips")[0], said, {"engines": 1})
    found, count = _agree(subject, options, "both")
    said = f"both engines and the verdict pass agree on {count - len(found)} of {count} people"
    return Checked("engines", found, said, {"engines": 2, "people": count})


def _agree(subject: Subject, options: Options, engine: str) -> tuple[tuple[Finding, ...], int]:
    kb = subject.kb
    assert kb is not None  # the caller saw to it
    book = compile_knowledge(kb, day_of(options))
    fewer = replace(options, people=options.people // PEOPLE_PER_COMPARISON)
    place = kb.places[f"book:{kb.book.name}"]
    found: list[Finding] = []
    count = 0
    for who, answers in people_of(book, fewer):
        count += 1
        try:
            run_engine(
                book,
                answers,
                book.on,
                engine="both" if engine == "both" else "clips",
                calculators=subject.calculators,
            )
        except EngineFault as fault:
            fix = "look at the rules it names; no plan is given out on a difference"
            what = f"{who}: {fault}"
            found.append(Finding(place.file, place.line, "engines-differ", what, fix, "engines"))
    return tuple(found[:MOST_TOLD]), count
