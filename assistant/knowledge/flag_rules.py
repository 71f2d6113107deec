"""From a flag's document, and from the tier of a question, to the rules of the screen.

    raised by an answer          screen.found       the rules under `raised_by`, and others
    not covered by a stronger    screen.flags       IFC-<FLAG>
    what it takes out            screen.withheld    FLG-<FLAG>, and what is left after a decision
    who should look              screen.referral_urgency    REF-<FLAG>

A decision never takes a flag away: it puts the lesser consequences of `cleared` or `set_aside` in the
place of the full ones. A stronger flag hides the weaker ones it covers only while it stands, that is,
until somebody clears it: so clearing one never hides another. An unanswered question of a tier raises the
flag of its tier's silence.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from assistant.knowledge.parsed import RawPath
from assistant.knowledge.tables import in_words
from assistant.model.documents.flags import SEVERITIES, Decided, Flag
from assistant.model.documents.screen_words import (
    Consequences,
    Counting,
    ReferralWords,
    ScreenWords,
    Sentence,
    Silence,
    Unanswered,
)
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.sources import SourceUse

STAGE = "screen"
FOUND, STANDING, IN_FORCE = "screen.found", "screen.standing", "screen.flags"
WITHHELD, LEVEL, SEVERITY = "screen.withheld", "screen.level", "screen.severity"
LOOKS = "screen.looks_set_aside"
DECISIONS = {"cleared": "context.cleared_flags", "set_aside": "context.set_aside_flags"}


# A raw rule, and the part of the document it was made from (for line numbers).
MadeRule: TypeAlias = tuple[RawPath, dict[str, Any]]


class FlagRules:
    """Makes the rules of all flags of a book. `groups` are the groups of outputs by name."""

    def __init__(
        self, flags: Mapping[str, Flag], words: ScreenWords, groups: Mapping[str, tuple[str, ...]]
    ) -> None:
        self.flags = flags
        self.words = words
        self.groups = groups
        self._other = min(flags, default="")

    def of(self, flag: Flag, raw: Mapping[str, Any]) -> Iterator[MadeRule]:
        """Yield the rules of one flag; `raw` is its document as it was read."""
        for number, reason in enumerate(raw.get("raised_by", ())):
            yield ("raised_by", number), self._raised(flag, reason)
        yield ("covers",), self._in_force(flag)
        if flag.covers and flag.cleared:
            yield ("covers",), self._standing(flag)
        yield ("withheld",), self._consequence(flag)
        for kind in DECISIONS:
            decided: Decided | None = getattr(flag, kind)
            if decided is not None:
                yield (kind,), self._left(flag, kind, decided)
        for number in range(len(flag.refer)):
            yield ("refer", number), self._referral(flag, number)

    def _raised(self, flag: Flag, reason: Mapping[str, Any]) -> dict[str, Any]:
        tests = {"expect": {FOUND: [flag.id]}, **reason.get("tests", {})}
        then = [{"add": FOUND, "item": flag.id}]
        return {**reason, "stage": STAGE, "then": then, "tests": tests}

    def _in_force(self, flag: Flag) -> dict[str, Any]:
        over = [other for other in self.flags.values() if flag.id in other.covers]
        return self._counts(
            ("", "A flag counts unless a stronger one that stands says the same"),
            flag,
            self.words.counting.in_force,
            IN_FORCE,
            [(STANDING if other.cleared else FOUND, other.id) for other in over],
        )

    def _standing(self, flag: Flag) -> dict[str, Any]:
        return self._counts(
            ("-STANDS", "A flag stands until a professional has cleared it"),
            flag,
            self.words.counting.standing,
            STANDING,
            [(DECISIONS["cleared"], flag.id)],
        )

    def _counts(
        self,
        named: tuple[str, str],
        flag: Flag,
        said: Sentence,
        into: str,
        excuses: list[tuple[str, str]],
    ) -> dict[str, Any]:
        """A found flag goes into a fact unless one of the excuses (fact, item) holds."""
        cases = [{"but": {FOUND: [self._another(flag)]}, "fires": False}]
        cases += [
            {"but": {fact: [flag.id, item] if fact == FOUND else [item]}, "blocked_by": fact}
            for fact, item in excuses
        ]
        return {
            **_named("IFC", flag, *named),
            "kind": "house",
            "when": [{"fact": FOUND, "has": flag.id}],
            "excused_by": [{"fact": fact, "has": item} for fact, item in excuses],
            "then": [{"add": into, "item": flag.id}],
            "tests": {"given": {FOUND: [flag.id]}, "expect": {into: [flag.id]}, "cases": cases},
            **_said(said, {"area": flag.area}),
            **rests_on(self.words.counting),
        }

    def _consequence(self, flag: Flag) -> dict[str, Any]:
        return self._takes_out(
            ("", "What a flag takes out of the plan"),
            flag,
            self.words.consequences.by_severity[flag.severity],
            flag.withheld,
            flag.severity,
            excuses=[fact for kind, fact in DECISIONS.items() if getattr(flag, kind) is not None],
            evidence=flag.evidence,
        )

    def _left(self, flag: Flag, kind: str, decided: Decided) -> dict[str, Any]:
        return self._takes_out(
            (f"-{kind.upper()}", "What is left of a flag after a decision"),
            flag,
            getattr(self.words.consequences, kind),
            decided.withheld,
            # What a decided flag is worth: the level just under its own.
            SEVERITIES[SEVERITIES.index(flag.severity) + 1],
            decided_by=DECISIONS[kind],
            evidence=decided.evidence,
        )

    def _takes_out(
        self,
        named: tuple[str, str],
        flag: Flag,
        said: Sentence,
        withheld: tuple[str, ...],
        severity: str,
        *,
        excuses: Sequence[str] = (),
        decided_by: str | None = None,
        evidence: tuple[SourceUse, ...] = (),
    ) -> dict[str, Any]:
        then: list[dict[str, Any]] = [{"add": WITHHELD, "item": each} for each in withheld]
        if flag.looks_wait:
            then.append({"set": LOOKS, "to": True})
        then += [{"set": LEVEL, "to": severity}, {"set": SEVERITY, "of": flag.id, "to": severity}]
        given = {IN_FORCE: [flag.id], **({decided_by: [flag.id]} if decided_by else {})}
        expect: dict[str, Any] = {LEVEL: severity, f"{SEVERITY}[{flag.id}]": severity}
        if flag.looks_wait:
            expect[LOOKS] = True
        if withheld:
            expect[WITHHELD] = self.outputs(withheld)
        cases: list[dict[str, Any]] = [
            {"but": {fact: [flag.id]}, "blocked_by": fact} for fact in excuses
        ]
        cases.append({"but": {IN_FORCE: [self._another(flag)]}, "fires": False})
        if decided_by:
            cases.append({"but": {decided_by: [self._another(flag)]}, "failed_at": decided_by})
        return {
            **_named("FLG", flag, *named),
            "when": [{"fact": fact, "has": flag.id} for fact in given],
            "excused_by": [{"fact": fact, "has": flag.id} for fact in excuses],
            "then": then,
            "tests": {"given": given, "expect": expect, "cases": cases},
            **_said(said, {"area": flag.area}),
            **_backed(self.words.consequences, evidence),
        }

    def _referral(self, flag: Flag, number: int) -> dict[str, Any]:
        refer, words = flag.refer[number], self.words.referrals
        own = refer.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        cleared = [DECISIONS["cleared"]] if flag.cleared is not None else []
        cases = [
            {"but": {IN_FORCE: [self._another(flag)]}, "fires": False},
            *({"but": {fact: [flag.id]}, "blocked_by": fact} for fact in cleared),
        ]
        key = f"screen.referral_urgency[{refer.to}]"
        tests = {"given": {IN_FORCE: [flag.id]}, "expect": {key: refer.urgency}, "cases": cases}
        # Words that are missing are refused with their place, so here they only must not break.
        who, when = self.words.roles.get(refer.to), words.brief.get(refer.urgency)
        said = {
            f"{before}because": filled(
                getattr(words, f"{before}because"),
                {
                    "area": flag.area,
                    "who": getattr(who, voice, ""),
                    "when": getattr(when, voice, ""),
                },
            )
            for voice, before in (("coach", ""), ("client", "client_"))
        }
        several = f"-{refer.to.upper()}" if len(flag.refer) > 1 else ""
        return {
            **_named("REF", flag, several, "Who should look, and how soon"),
            "when": [{"fact": IN_FORCE, "has": flag.id}, *own.get("when", ())],
            "excused_by": [
                *own.get("excused_by", ()),
                *({"fact": fact, "has": flag.id} for fact in cleared),
            ],
            "then": [{"set": "screen.referral_urgency", "of": refer.to, "to": refer.urgency}],
            "tests": own.get("tests", tests),
            **{field: own.get(field) or text for field, text in said.items()},
            **_backed(words, refer.evidence),
        }

    def outputs(self, names: tuple[str, ...]) -> list[str]:
        """Return output ids with the names of groups written out, in order of name."""
        return sorted({each for name in names for each in self.groups.get(name, (name,))})

    def _another(self, flag: Flag) -> str:
        return self._other if flag.id != self._other else max(self.flags)


def silence_rules(
    facts: Mapping[str, FactDeclaration], words: ScreenWords
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield for every fact with a tier its id and the raw rule of its silence."""
    for fact in facts.values():
        if fact.tier is None or fact.tier == "free":
            continue
        silence = words.unanswered.tiers[fact.tier]
        cases = [
            {"but": {fact.id: "declined"}, "fires": True},
            {"but": {fact.id: "not_applicable"}, "fires": False},
            {"but": {fact.id: _some_value(fact)}, "fires": False},
        ]
        tests = {"given": {fact.id: "unknown"}, "expect": {FOUND: [silence.flag]}, "cases": cases}
        raw = {
            "id": f"UNA-{fact.id.partition('.')[2].upper().replace('.', '_')}",
            "title": f"A safety question without an answer: {fact.label}",
            "stage": STAGE,
            "kind": "house",
            "when": [{"fact": fact.id, "status": "unanswered"}],
            "then": [{"add": FOUND, "item": silence.flag}],
            "tests": tests,
            **_said(silence, {"label": fact.label}),
            **rests_on(words.unanswered),
        }
        yield fact.id, raw


def _some_value(fact: FactDeclaration) -> Any:
    """A clear answer to a question, of the right type."""
    if fact.type is FactType.CHOICES:
        return []
    if fact.type is FactType.BOOLEAN:
        return False
    if fact.allows_none:
        return "none"
    if fact.type is FactType.CHOICE:
        return fact.choices[0]
    assert fact.range is not None  # the model asks for one where people type a number
    return fact.range[0]


def _named(beginning: str, flag: Flag, ending: str, title: str) -> dict[str, Any]:
    name = f"{flag.id.upper()}{ending}"
    title = f"{title}: {in_words(name)}"
    return {"id": f"{beginning}-{name}", "title": title, "stage": STAGE}


def _said(said: Sentence | Silence, slots: Mapping[str, str]) -> dict[str, str]:
    return {
        "because": filled(said.because, slots),
        "client_because": filled(said.client_because, slots),
    }


def rests_on(basis: Counting | Consequences | ReferralWords | Unanswered) -> dict[str, Any]:
    """Return the source and grade of a made rule, as they stand in a file."""
    return basis.model_dump(mode="json", exclude_none=True, include={"source", "grade"})


def _backed(basis: Consequences | ReferralWords, evidence: tuple[SourceUse, ...]) -> dict[str, Any]:
    """Return what a made rule rests on: the published work of its flag, and ours beside it."""
    rests = rests_on(basis)
    if evidence:
        published = [use.model_dump(mode="json", exclude_none=True) for use in evidence]
        rests["source"] = [*published, *rests["source"]]
        rests["grade"] = (basis.backed or basis.grade).model_dump(mode="json")
    return rests


def filled(text: str, slots: Mapping[str, str]) -> str:
    """Return a sentence with its slots filled and its first letter large."""
    for name, value in slots.items():
        text = text.replace("{" + name + "}", value)
    return text[:1].upper() + text[1:]
