"""From a flag's document to the rules of the screen.

    raised by an answer          screen.found       the rules under `raised_by`, and others
    not covered by a stronger    screen.flags       IFC-<FLAG>
    what it takes out            screen.withheld    FLG-<FLAG>, and what is left after a decision
    who should look              screen.referral_urgency    REF-<FLAG>

A decision never takes a flag away: it puts the lesser consequences of `cleared` or `set_aside` in the
place of the full ones. A stronger flag hides the weaker ones it covers only while it stands, that is,
until somebody clears it: so clearing one never hides another.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.knowledge.parsed import RawPath
from assistant.model.documents.flags import SEVERITIES, Decided, Flag
from assistant.model.documents.screen_words import Consequences, Counting, ScreenWords, Sentence
from assistant.model.sources import Grade, SourceUse

STAGE = "screen"
FOUND, STANDING, IN_FORCE = "screen.found", "screen.standing", "screen.flags"
WITHHELD, LEVEL, SEVERITY = "screen.withheld", "screen.level", "screen.severity"
LOOKS = "screen.looks_set_aside"
DECISIONS = {"cleared": "context.cleared_flags", "set_aside": "context.set_aside_flags"}


@dataclass(frozen=True)
class MadeRule:
    """A raw rule, and the part of the document it was made from (for line numbers)."""

    at: RawPath
    raw: dict[str, Any]


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
            yield MadeRule(("raised_by", number), self._raised(flag, reason))
        yield MadeRule(("covers",), self._in_force(flag))
        if flag.covers and flag.cleared:
            yield MadeRule(("covers",), self._standing(flag))
        yield MadeRule(("withheld",), self._consequence(flag))
        for kind in DECISIONS:
            decided: Decided | None = getattr(flag, kind)
            if decided is not None:
                yield MadeRule((kind,), self._left(flag, kind, decided))
        for number in range(len(flag.refer)):
            yield MadeRule(("refer", number), self._referral(flag, number))

    def _raised(self, flag: Flag, reason: Mapping[str, Any]) -> dict[str, Any]:
        tests = {"expect": {FOUND: [flag.id]}, **reason.get("tests", {})}
        then = [{"add": FOUND, "item": flag.id}]
        return {**reason, "stage": STAGE, "then": then, "tests": tests}

    def _in_force(self, flag: Flag) -> dict[str, Any]:
        over = [other for other in self.flags.values() if flag.id in other.covers]
        return self._counts(
            f"IFC-{flag.id.upper()}",
            "A flag counts unless a stronger one that stands says the same",
            flag,
            self.words.counting.in_force,
            IN_FORCE,
            [(STANDING if other.cleared else FOUND, other.id) for other in over],
        )

    def _standing(self, flag: Flag) -> dict[str, Any]:
        return self._counts(
            f"IFC-{flag.id.upper()}-STANDS",
            "A flag stands until a professional has cleared it",
            flag,
            self.words.counting.standing,
            STANDING,
            [(DECISIONS["cleared"], flag.id)],
        )

    def _counts(
        self,
        rule_id: str,
        title: str,
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
        return self._rule(
            rule_id,
            title,
            flag,
            said,
            self.words.counting,
            when=[{"fact": FOUND, "has": flag.id}],
            excused_by=[{"fact": fact, "has": item} for fact, item in excuses],
            then=[{"add": into, "item": flag.id}],
            tests={"given": {FOUND: [flag.id]}, "expect": {into: [flag.id]}, "cases": cases},
        )

    def _consequence(self, flag: Flag) -> dict[str, Any]:
        facts = [fact for kind, fact in DECISIONS.items() if getattr(flag, kind) is not None]
        return self._takes_out(
            f"FLG-{flag.id.upper()}",
            "What a flag takes out of the plan",
            flag,
            self.words.consequences.by_severity[flag.severity],
            flag.withheld,
            flag.severity,
            excuses=facts,
        )

    def _left(self, flag: Flag, kind: str, decided: Decided) -> dict[str, Any]:
        return self._takes_out(
            f"FLG-{flag.id.upper()}-{kind.upper()}",
            "What is left of a flag after a decision",
            flag,
            getattr(self.words.consequences, kind),
            decided.withheld,
            # What a decided flag is worth: the level just under its own.
            SEVERITIES[SEVERITIES.index(flag.severity) + 1],
            decided_by=DECISIONS[kind],
        )

    def _takes_out(
        self,
        rule_id: str,
        title: str,
        flag: Flag,
        said: Sentence,
        withheld: tuple[str, ...],
        severity: str,
        *,
        excuses: list[str] | None = None,
        decided_by: str | None = None,
    ) -> dict[str, Any]:
        then: list[dict[str, Any]] = [{"add": WITHHELD, "item": each} for each in withheld]
        if flag.looks_wait:
            then.append({"set": LOOKS, "to": True})
        then.append({"set": LEVEL, "to": severity})
        then.append({"set": SEVERITY, "of": flag.id, "to": severity})
        given = {IN_FORCE: [flag.id], **({decided_by: [flag.id]} if decided_by else {})}
        expect: dict[str, Any] = {LEVEL: severity, f"{SEVERITY}[{flag.id}]": severity}
        if flag.looks_wait:
            expect[LOOKS] = True
        if withheld:
            expect[WITHHELD] = self.outputs(withheld)
        cases: list[dict[str, Any]] = [
            {"but": {fact: [flag.id]}, "blocked_by": fact} for fact in excuses or ()
        ]
        cases.append({"but": {IN_FORCE: [self._another(flag)]}, "fires": False})
        when = [{"fact": IN_FORCE, "has": flag.id}]
        if decided_by:
            when.append({"fact": decided_by, "has": flag.id})
            cases.append({"but": {decided_by: [self._another(flag)]}, "failed_at": decided_by})
        return self._rule(
            rule_id,
            title,
            flag,
            said,
            self.words.consequences,
            when=when,
            excused_by=[{"fact": fact, "has": flag.id} for fact in excuses or ()],
            then=then,
            tests={"given": given, "expect": expect, "cases": cases},
        )

    def _referral(self, flag: Flag, number: int) -> dict[str, Any]:
        refer, words = flag.refer[number], self.words.referrals
        several = len(flag.refer) > 1
        own = refer.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        cleared = DECISIONS["cleared"]
        excused = list(own.get("excused_by", ()))
        tests = own.get("tests")
        if flag.cleared is not None:
            excused.append({"fact": cleared, "has": flag.id})
        if tests is None:
            cases = [{"but": {IN_FORCE: [self._another(flag)]}, "fires": False}]
            if flag.cleared is not None:
                cases.append({"but": {cleared: [flag.id]}, "blocked_by": cleared})
            key = f"screen.referral_urgency[{refer.to}]"
            tests = {
                "given": {IN_FORCE: [flag.id]},
                "expect": {key: refer.urgency},
                "cases": cases,
            }
        said = {}
        for voice, field in (("coach", "because"), ("client", "client_because")):
            # Words that are missing are refused with their place, so here they only must not break.
            who = getattr(self.words.roles.get(refer.to), voice, "")
            when = getattr(words.brief.get(refer.urgency), voice, "")
            slots = {"area": flag.area, "who": who, "when": when}
            said[field] = own.get(field) or filled(getattr(words, field), slots)
        return {
            "id": f"REF-{flag.id.upper()}" + (f"-{refer.to.upper()}" if several else ""),
            "title": "Who should look, and how soon",
            "stage": STAGE,
            "when": [{"fact": IN_FORCE, "has": flag.id}, *own.get("when", ())],
            "excused_by": excused,
            "then": [{"set": "screen.referral_urgency", "of": refer.to, "to": refer.urgency}],
            **said,
            **rests_on(words.source, words.grade),
            "tests": tests,
        }

    def outputs(self, names: tuple[str, ...]) -> list[str]:
        """Return output ids with the names of groups written out, in order of name."""
        return sorted({each for name in names for each in self.groups.get(name, (name,))})

    def _another(self, flag: Flag) -> str:
        return self._other if flag.id != self._other else max(self.flags)

    def _rule(
        self,
        rule_id: str,
        title: str,
        flag: Flag,
        said: Sentence,
        basis: Counting | Consequences,
        **parts: Any,
    ) -> dict[str, Any]:
        slots = {"area": flag.area}
        return {
            "id": rule_id,
            "title": title,
            "stage": STAGE,
            **{name: part for name, part in parts.items() if part},
            "because": filled(said.because, slots),
            "client_because": filled(said.client_because, slots),
            **rests_on(basis.source, basis.grade),
        }


def rests_on(source: tuple[SourceUse, ...], grade: Grade) -> dict[str, Any]:
    """Return the source and grade of a made rule, as they stand in a file."""
    return {
        "source": [each.model_dump(mode="json", exclude_none=True) for each in source],
        "grade": grade.model_dump(mode="json", exclude_none=True),
    }


def filled(text: str, slots: Mapping[str, str]) -> str:
    """Return a sentence with its slots filled and its first letter large."""
    for name, value in slots.items():
        text = text.replace("{" + name + "}", value)
    return text[:1].upper() + text[1:]


def by_severity(flags: Mapping[str, Flag]) -> tuple[str, ...]:
    """Return the ids of all flags, the strongest first."""
    return tuple(sorted(flags, key=lambda flag: (SEVERITIES.index(flags[flag].severity), flag)))
