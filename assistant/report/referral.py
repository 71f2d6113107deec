"""The note for a professional: what was said, what we paused, what we ask. One page, no diagnosis."""

import textwrap

from assistant.model.derivation import Holds
from assistant.model.values import Status, Value
from assistant.plan.sentences import Narrator
from assistant.plan.special import training_meanwhile
from assistant.plan.views import flag_records, raised_flags, referral_records, referring_flags
from assistant.plan.visibility import withheld_outputs

WIDTH = 78


def referral_note(narrator: Narrator, name: str, *, alone: bool = False) -> str | None:
    """Return the note, or None where nobody is asked to look. alone: there is no coach who writes it.

    Only flags that refer somebody are told, each in the note's own plain words. Answers about
    thoughts of self-harm are never written down as such.
    """
    referrals = referral_records(narrator.kb, narrator.run)
    words = narrator.kb.screen_words
    if not referrals or words.note is None:
        return None
    note = words.note.alone or words.note if alone else words.note
    flags = narrator.kb.flags
    refer = referring_flags(narrator.run)
    telling = [r["id"] for r in flag_records(narrator.kb, narrator.run) if r["id"] in refer]
    order = narrator.kb.book.domains["output"]
    paused = [
        words.outputs[output].coach for output in order if output in withheld_outputs(narrator.run)
    ]
    areas = list(dict.fromkeys(flags[flag].area for flag in telling))
    rows = [
        f"Note about {name}",
        f"Date: {narrator.on.isoformat()}",
        "For: "
        + "; ".join(
            f"{words.roles[r['to']].coach} ({words.urgencies[r['urgency']].coach})"
            for r in referrals
        ),
        "",
        note.opening.replace("{areas}", "; ".join(areas)),
        "",
        "What was reported:",
        *[f"- {flags[flag].note}" for flag in telling],
    ]
    answers = _answers_behind(narrator, telling)
    if answers:
        rows += ["", "The answers behind it:", *[f"- {answer}" for answer in answers]]
    rows += ["", note.goes_on.replace("{training}", " ".join(training_meanwhile(narrator)))]
    if paused:
        rows += ["", note.paused.replace("{outputs}", ", ".join(dict.fromkeys(paused)))]
    rows += ["", note.ask, "", note.close]
    return "\n".join(_wrapped(row) for row in rows) + "\n"


def _answers_behind(narrator: Narrator, flags: list[str]) -> list[str]:
    """Return the clauses that raised the flags, as label and answer, hidden figures left out.

    Of a list only the items that raised one of them are told: the rest is no business of the reader.
    """
    said: dict[str, Value] = {}
    for record in narrator.run.records.fired():
        if not raised_flags(record) & set(flags):
            continue
        for reading in record.readings:
            declaration = narrator.kb.facts.get(reading.fact)
            if reading.role != "when" or declaration is None or declaration.origin != "answer":
                continue
            if reading.fact == "screen.self_harm_thoughts" or isinstance(reading.have, Status):
                continue
            if reading.have is None or narrator.hides(reading.fact):
                continue
            if reading.operator != "has":
                said[reading.fact] = reading.have
            elif reading.holds is Holds.TRUE:
                told = _items(said.get(reading.fact, ()))
                said[reading.fact] = tuple(dict.fromkeys((*told, str(reading.want))))
    return [
        f"{narrator.kb.facts[fact].label}: {narrator.phrases.value(fact, value)}"
        for fact, value in said.items()
    ]


def _items(value: Value) -> tuple[str, ...]:
    return value if isinstance(value, tuple) else ()


def _wrapped(row: str) -> str:
    rest = "  " if row.startswith("- ") else ""
    return textwrap.fill(row, WIDTH, subsequent_indent=rest, break_on_hyphens=False) if row else ""
