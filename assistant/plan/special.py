"""Parts of the page with their own composer: the screen, what is left out, what is still open."""

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from assistant.model.plan import Line
from assistant.model.values import Status
from assistant.plan.first_steps import first_steps
from assistant.plan.layout import PlanLayout, SpecialPart
from assistant.plan.sentences import Narrator
from assistant.plan.views import flag_records, raised_flags, referral_records
from assistant.plan.visibility import is_stopped, withheld_outputs

# How much training goes on, the least first.
_EXTENTS = ("none", "limited", "full")


def compose_special(part: SpecialPart, narrator: Narrator, layout: PlanLayout) -> list[Line]:
    """Return the lines of a special part."""
    composers: dict[str, Callable[[Narrator, PlanLayout], list[Line]]] = {
        "screen": _screen,
        "left_out": _left_out,
        "unanswered": _unanswered,
        "assumptions": _assumptions,
        "caution": _ask_again,
    }
    return composers[part.special](narrator, layout)


def flag_words(narrator: Narrator, flag: str) -> Mapping[str, Any]:
    """Return the wording of a flag from rules/flags.yaml."""
    words: Mapping[str, Any] = narrator.kb.documents["flags"]["flags"][flag]
    return words


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
    shelf = narrator.kb.documents["flags"]["trainings"]
    flags = [flag_words(narrator, record["id"]) for record in shown_flags(narrator)]
    said = [shelf[words["training"]] for words in flags if "training" in words]
    extents = [_EXTENTS.index(words.get("extent", "full")) for words in said]
    return list(
        dict.fromkeys(
            words[narrator.audience]
            for words, extent in zip(said, extents, strict=True)
            if extent == min(extents)
        )
    )


def _screen(narrator: Narrator, layout: PlanLayout) -> list[Line]:
    coach = narrator.audience == "coach"
    flags = shown_flags(narrator)
    if not flags:
        text = layout.phrases["all_clear" if coach else "all_clear_client"]
        return [Line("screen.clear", text, "", ("screen.level",))]
    lines = []
    for number, record in enumerate(flags, start=1):
        flag = record["id"]
        words = flag_words(narrator, flag)
        template = layout.phrases["flag" if coach else "flag_client"]
        slots = {"sentence": words[narrator.audience], "severity": record["severity"]}
        text = narrator.phrases.render(template, slots.get)
        reason = _flag_reason(narrator, flag) if coach else ""
        # A flag's name is the coach's: the client's lines carry a number.
        lines.append(
            Line(f"screen.flag[{flag if coach else number}]", text, reason, ("screen.flags",))
        )
    lines += _first_step_lines(narrator, [record["id"] for record in flags])
    if flags[0]["severity"] == "stop":
        lines.append(Line("screen.stop", layout.phrases["stopped"], "", ("screen.level",)))
    lines += _referral_lines(narrator, layout)
    for number, training in enumerate(training_meanwhile(narrator), start=1):
        text = narrator.phrases.render(layout.phrases["meanwhile"], {"training": training}.get)
        lines.append(Line(f"screen.training[{number}]", text, "", ("screen.withheld",)))
    if not coach:
        unique = {line.text: line for line in reversed(lines)}
        lines = [line for line in lines if unique[line.text] is line]
    return lines


def _first_step_lines(narrator: Narrator, flags: list[str]) -> list[Line]:
    """Return what to do first for every kind of sign behind the flags."""
    answers = {key: fact.value for key, fact in narrator.run.facts.items()}
    said = [
        step
        for flag in flags
        for step in first_steps(flag_words(narrator, flag), answers, narrator.audience)
    ]
    return [
        Line(f"screen.first[{number}]", step, "", ("screen.level",))
        for number, step in enumerate(dict.fromkeys(said), start=1)
    ]


def _flag_reason(narrator: Narrator, flag: str) -> str:
    for record in narrator.run.records:
        if flag in raised_flags(record):
            return narrator.sentence(record)
    return ""


def _referral_lines(narrator: Narrator, layout: PlanLayout) -> list[Line]:
    words = narrator.kb.documents["flags"]
    template = layout.phrases["referral" if narrator.audience == "coach" else "referral_client"]
    lines = []
    for record in referral_records(narrator.kb, narrator.run):
        role, urgency = record["to"], record["urgency"]
        slots = {
            "who": words["roles"][role][narrator.audience],
            "urgency": words["urgencies"][urgency][narrator.audience],
        }
        text = narrator.phrases.render(template, slots.get)
        key = f"screen.referral_urgency[{role}]"
        lines.append(
            Line(f"screen.referral[{role}]", text[0].upper() + text[1:], "", ("screen.referrals",))
            if narrator.hides(key)
            else Line(f"screen.referral[{role}]", text[0].upper() + text[1:], "", (key,))
        )
    return lines


def _left_out(narrator: Narrator, layout: PlanLayout) -> list[Line]:
    withheld = withheld_outputs(narrator.run)
    if not withheld or is_stopped(narrator.run):
        return []
    words = narrator.kb.documents["flags"]["outputs"]
    order = narrator.kb.book.domains["output"]
    said = [words[name][narrator.audience] for name in order if name in withheld]
    if narrator.audience == "client":
        return [
            Line("screen.left_out", layout.phrases["left_out_client"], "", ("screen.withheld",))
        ]
    text = layout.phrases["left_out"].replace("{outputs}", ", ".join(dict.fromkeys(said)))
    return [Line("screen.left_out", text, "", ("screen.withheld",))]


def _unanswered(narrator: Narrator, layout: PlanLayout) -> list[Line]:
    facts = narrator.run.facts
    open_labels = [
        declaration.label
        for fact_id, declaration in sorted(narrator.kb.facts.items())
        if declaration.origin == "answer"
        and declaration.tier in {"A", "B", "C"}
        and (fact_id not in facts or facts[fact_id].value in {Status.UNKNOWN, Status.DECLINED})
    ]
    if not open_labels:
        return []
    if narrator.audience == "client":
        text = layout.phrases["unanswered_client"].replace("{count}", str(len(open_labels)))
    else:
        text = layout.phrases["unanswered"].replace("{answers}", "; ".join(open_labels))
    return [Line("screen.unanswered", text, "", ("screen.level",))]


def _assumptions(narrator: Narrator, layout: PlanLayout) -> list[Line]:
    lines = []
    for fact_id in narrator.run.assumptions:
        declaration = narrator.kb.facts[fact_id]
        if declaration.default is None or narrator.hides(fact_id):
            continue
        slots = {
            "what": declaration.label,
            "value": narrator.phrases.value(fact_id, narrator.run.facts[fact_id].value),
            "because": declaration.default.because,
        }
        text = narrator.phrases.render(layout.phrases["assumed"], slots.get)
        lines.append(Line(f"assumed.{fact_id}", text, "", (fact_id,)))
    return lines


def ask_again_on(narrator: Narrator) -> dt.date | None:
    """Return the day on which the flags in force want the safety questions asked again, if any."""
    weeks = [
        flag_words(narrator, record["id"]).get("rescreen_weeks", 0)
        for record in flag_records(narrator.kb, narrator.run)
    ]
    waiting = [number for number in weeks if number > 0]
    if not waiting or is_stopped(narrator.run):
        return None
    return narrator.on + dt.timedelta(weeks=min(waiting))


def _ask_again(narrator: Narrator, layout: PlanLayout) -> list[Line]:
    day = ask_again_on(narrator)
    if day is None:
        return []
    text = layout.phrases["reask"].replace("{date}", day.isoformat())
    return [Line("screen.ask_again", text, "", ("screen.level",))]
