"""Parts of the page with their own composer: the screen, what is left out, what is still open."""

import datetime as dt
from collections.abc import Callable

from assistant.knowledge.first_steps import first_steps
from assistant.knowledge.flag_rules import DECISIONS
from assistant.model.derivation import Run, items_in
from assistant.model.documents.page import SpecialPart
from assistant.model.plan import Line
from assistant.model.values import Status
from assistant.plan.flag_reasons import flag_reasons
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator
from assistant.plan.views import flag_records, referral_records
from assistant.plan.visibility import is_stopped, withheld_outputs

# How much training goes on, the least first.
_EXTENTS = ("none", "limited", "full")
# Where no flag stands against it, why fat loss waits is said reason by reason, and only if it is asked for.
_DEFICITS = frozenset({"energy_deficit", "deficit_large"})
# What is said in its own line though no flag stands, so that nobody reads that nothing stands in the way.
_SAID_APART = ("fat_loss.waits", "note.doctor_agreed")


def compose_special(part: SpecialPart, narrator: Narrator) -> list[Line]:
    """Return the lines of a special part."""
    composers: dict[str, Callable[[Narrator], list[Line]]] = {
        "screen": _screen,
        "left_out": _left_out,
        "unanswered": _unanswered,
        "assumptions": _assumptions,
        "caution": _ask_again,
    }
    return composers[part.special](narrator)


def shown_flags(narrator: Narrator) -> list[dict[str, str]]:
    """Return the flags this reader is told about, the most severe first.

    The client hears the strongest level first; under a stop nothing else is said.
    """
    records = flag_records(narrator.kb, narrator.run)
    if records and records[0]["severity"] == "stop":
        return [record for record in records if record["severity"] == "stop"]
    return records


def training_meanwhile(narrator: Narrator) -> list[str]:
    """Return what may be said about training under the flags raised, without contradiction.

    Where training waits only that is said; else every limit is said, and that it goes on in full only
    where nothing limits it.
    """
    shelf = narrator.kb.screen_words.trainings
    said = [shelf[_training_under(narrator, record["id"])] for record in shown_flags(narrator)]
    least = min((_EXTENTS.index(words.extent) for words in said), default=0)
    heard = [words for words in said if _EXTENTS.index(words.extent) == least]
    return list(dict.fromkeys(words.to(narrator.audience) for words in heard))


def decided_about(run: Run, flag: str) -> str | None:
    """Return `cleared` or `set_aside` if that decision about the flag counts."""
    for kind, fact in DECISIONS.items():
        if flag in items_in(run.facts, fact):
            return kind
    return None


def _training_under(narrator: Narrator, flag: str) -> str:
    """Return which words on training hold under a flag, or under what a decision left of it."""
    document, kind = narrator.kb.flags[flag], decided_about(narrator.run, flag)
    left = getattr(document, kind) if kind else None
    return str((left or document).training)


def _screen(narrator: Narrator) -> list[Line]:
    coach = narrator.audience == "coach"
    flags = shown_flags(narrator)
    if not flags and _waits(narrator):
        return []
    if not flags:
        return [Line("screen.clear", narrator.phrase("all_clear"), "", ("screen.level",))]
    lines = []
    for number, record in enumerate(flags, start=1):
        flag = record["id"]
        document, kind = narrator.kb.flags[flag], decided_about(narrator.run, flag)
        text = narrator.phrase(
            f"flag_{kind}" if kind else "flag",
            sentence=document.to(narrator.audience),
            area=document.area,
            severity=record["severity"],
        )
        # A flag's name is the coach's: the client's lines carry a number.
        name = flag if coach else str(number)
        reasons = flag_reasons(narrator, flag)
        under = reasons.pop() if coach and len(reasons) == 1 else ""
        lines.append(Line(f"screen.flag[{name}]", text, under, ("screen.flags",)))
        lines += [
            Line(f"screen.reason[{name}.{each}]", reason, "", ("screen.flags",))
            for each, reason in enumerate(reasons, start=1)
        ]
    lines += _first_step_lines(narrator, [record["id"] for record in flags])
    if flags[0]["severity"] == "stop":
        lines.append(Line("screen.stop", narrator.phrase("stopped"), "", ("screen.level",)))
    lines += _referral_lines(narrator)
    for number, training in enumerate(training_meanwhile(narrator), start=1):
        text = narrator.phrase("meanwhile", training=training)
        lines.append(Line(f"screen.training[{number}]", text, "", ("screen.withheld",)))
    if not coach:
        unique = {line.text: line for line in reversed(lines)}
        lines = [line for line in lines if unique[line.text] is line]
    return lines


def _waits(narrator: Narrator) -> bool:
    """Tell whether something is left out or agreed that no flag speaks of, so that nothing is "all clear"."""
    return any(narrator.holds(fact) for fact in _SAID_APART) or bool(
        withheld_outputs(narrator.run) - _DEFICITS
    )


def _first_step_lines(narrator: Narrator, flags: list[str]) -> list[Line]:
    """Return what to do first for every kind of sign behind the flags."""
    answers = {key: fact.value for key, fact in narrator.run.facts.items()}
    said = [
        step
        for flag in flags
        for step in first_steps(narrator.kb.flags[flag], answers, narrator.audience)
    ]
    return [
        Line(f"screen.first[{number}]", step, "", ("screen.level",))
        for number, step in enumerate(dict.fromkeys(said), start=1)
    ]


def _referral_lines(narrator: Narrator) -> list[Line]:
    words, reader = narrator.kb.screen_words, narrator.audience
    lines = []
    for record in referral_records(narrator.kb, narrator.run):
        role, urgency = record["to"], record["urgency"]
        who, when = words.roles[role].to(reader), words.urgencies[urgency].to(reader)
        text = narrator.phrase("referral", who=who, urgency=when)
        urgent = f"screen.referral_urgency[{role}]"
        about = "screen.referrals" if narrator.hides(urgent) else urgent
        lines.append(Line(f"screen.referral[{role}]", sentence_case(text), "", (about,)))
    return lines


def _left_out(narrator: Narrator) -> list[Line]:
    withheld = withheld_outputs(narrator.run)
    if _DEFICITS.isdisjoint(items_in(narrator.run.facts, "screen.withheld")):
        withheld -= _DEFICITS
    if not withheld or is_stopped(narrator.run):
        return []
    words = narrator.kb.screen_words.outputs
    order = narrator.kb.book.domains["output"]
    said = [words[name].to(narrator.audience) for name in order if name in withheld]
    text = narrator.phrase("left_out", outputs=", ".join(dict.fromkeys(said)))
    return [Line("screen.left_out", text, "", ("screen.withheld",))]


def _unanswered(narrator: Narrator) -> list[Line]:
    facts = narrator.run.facts
    open_labels = [
        declaration.label
        for fact_id, declaration in sorted(narrator.kb.facts.items())
        if declaration.origin == "answer"
        and declaration.is_safety
        and (fact_id not in facts or facts[fact_id].value in {Status.UNKNOWN, Status.DECLINED})
    ]
    if not open_labels:
        return []
    count, answers = str(len(open_labels)), "; ".join(open_labels)
    text = narrator.phrase("unanswered", count=count, answers=answers)
    return [Line("screen.unanswered", text, "", ("screen.level",))]


def _assumptions(narrator: Narrator) -> list[Line]:
    lines = []
    for fact_id in narrator.run.assumptions:
        declaration = narrator.kb.facts[fact_id]
        if declaration.default is None or narrator.hides(fact_id):
            continue
        text = narrator.phrase(
            "assumed",
            what=declaration.label,
            value=narrator.phrases.value(fact_id, narrator.run.facts[fact_id].value),
            because=declaration.default.because,
        )
        lines.append(Line(f"assumed.{fact_id}", text, "", (fact_id,)))
    return lines


def ask_again_on(narrator: Narrator) -> dt.date | None:
    """Return the day on which the flags in force want the safety questions asked again, if any."""
    weeks = [
        narrator.kb.flags[record["id"]].rescreen_weeks
        for record in flag_records(narrator.kb, narrator.run)
    ]
    waiting = [number for number in weeks if number > 0]
    if not waiting or is_stopped(narrator.run):
        return None
    return narrator.on + dt.timedelta(weeks=min(waiting))


def _ask_again(narrator: Narrator) -> list[Line]:
    day = ask_again_on(narrator)
    if day is None:
        return []
    text = narrator.phrase("reask", date=day.isoformat())
    return [Line("screen.ask_again", text, "", ("screen.level",))]
