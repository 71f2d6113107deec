"""Random small knowledge bases and random people, for holding engines against each other.

Everything is drawn through one `random.Random`, which Hypothesis can control (and so shrink) and
a plain seed can repeat.
"""

import datetime as dt
import random
from dataclasses import dataclass
from typing import Any

from engine_books import ON, book, derived, fact, parameter, rule

from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status

NUMBERS = (-1.0, 0.0, 0.1, 0.2, 0.3, 1.0, 2.0, 2.5, 3.0, 1e-5, 25.0)
MUSCLES = ("glute_max", "lats", "quads")
OUTPUTS = ("weight_goal", "energy_number", "bmi_shown")
LETTERS = ("p", "q", "r")
DATES = ("2026-01-11", "2026-01-12", "2026-03-01")
STATUSES = ("known", "unanswered", "unknown", "declined", "not_applicable", "none")
ORDERED = ("at_least", "at_most", "more_than", "less_than")

FACTS = {
    "answers.number": fact("answers.number", "number", allows_none=True),
    "answers.other": fact("answers.other", "number"),
    "answers.assumed": fact("answers.assumed", "number", default={"value": 2, "because": "usual"}),
    "answers.yes": fact("answers.yes"),
    "answers.also": fact("answers.also"),
    "answers.letter": fact("answers.letter", "choice", choices=LETTERS),
    "answers.list": fact("answers.list", "choices", choice_domain="muscle", choices=MUSCLES),
    "answers.day": fact("answers.day", "date"),
    "answers.girth": fact("answers.girth", "number", index="muscle"),
    "context.as_of": fact("context.as_of", "date", "context"),
    "screen.withheld": derived(
        "screen.withheld", "choices", choices=OUTPUTS, combine="collect", groups={"ALL": OUTPUTS}
    ),
    "first.any": derived("first.any", combine="any"),
    "first.low": derived("first.low", "number", combine="min", has_range=True),
    "first.letter": derived("first.letter", "choice", choices=LETTERS, combine="max"),
    "second.any": derived("second.any", combine="any", index="muscle"),
    "second.high": derived("second.high", "number", combine="max", index="muscle"),
    "second.list": derived("second.list", "choices", choices=MUSCLES, combine="collect"),
    "second.shown": derived("second.shown", "number", combine="max", reveals=OUTPUTS[:2]),
    "third.one": derived("third.one", "number"),
    "third.letter": derived("third.letter", "choice", choices=LETTERS, combine="min"),
    "third.any": derived("third.any", combine="any", reveals=OUTPUTS[2:]),
}
LAYERS = {"answers": 0, "context": 0, "screen": 1, "first": 1, "second": 2, "third": 3}


@dataclass(frozen=True)
class Doubled:
    """A calculator for tests."""

    @property
    def function(self) -> Any:
        return lambda value: 2.0 * value


CALCULATORS = {"math.doubled": Doubled()}


class Draw:
    """Draws rules and people."""

    def __init__(self, source: random.Random) -> None:
        self.source = source

    def knowledge(self) -> KnowledgeBase:
        """A small random knowledge base in three layers, its rules in random order."""
        rules = [self.rule(f"FUZ-{number:03d}") for number in range(self.source.randint(1, 14))]
        self.source.shuffle(rules)
        parameters = [parameter(f"p.n{number}", value) for number, value in enumerate(NUMBERS)]
        overlay = {"p.n4": 1.0} if self.chance(0.3) else {}
        domains = {"muscle": MUSCLES}
        return book(FACTS.values(), rules, parameters, domains, overlay)

    def person(self) -> dict[str, Any]:
        """Random answers, in random order; about a third are missing or have no value."""
        answers: dict[str, Any] = {}
        for fact_id, raw in FACTS.items():
            if raw["origin"] == "answer":
                keys = [f"{fact_id}[{m}]" for m in MUSCLES] if "index" in raw else [fact_id]
                for key in keys:
                    if self.chance(0.9):
                        answers[key] = self.answer(raw)
        keys = list(answers)
        self.source.shuffle(keys)
        return {key: answers[key] for key in keys}

    def chance(self, share: float) -> bool:
        return self.source.random() < share

    def answer(self, raw: dict[str, Any]) -> Any:
        if self.chance(0.3):
            return self.source.choice(list(Status))
        match raw["type"]:
            case "number":
                return self.source.choice(NUMBERS)
            case "boolean":
                return self.chance(0.5)
            case "choice":
                return self.source.choice(raw["choices"])
            case "choices":
                return tuple(sorted(one for one in raw["choices"] if self.chance(0.4)))
            case _:
                return self.source.choice(DATES)

    # Rules.

    def rule(self, rule_id: str) -> dict[str, Any]:
        layer = self.source.choice((1, 1, 2, 2, 3))
        written = [name for name in FACTS if LAYERS[name.split(".")[0]] == layer]
        target = self.source.choice(written)
        if layer == 3 and self.chance(0.5):
            target = "third.one"  # the one-valued fact, where rules can contradict each other
        more: dict[str, Any] = {"stage": "screen" if target.startswith("screen") else "dose"}
        loop = self.source.choice((None, None, "muscle", "answers.list"))
        if loop is not None:
            more["for_each"] = {"muscle": loop}
        self.looped, self.layer = loop is not None, layer
        more["when"] = [self.condition() for _ in range(self.source.choice((0, 1, 1, 2, 3)))]
        more["unless"] = [self.clause() for _ in range(self.source.choice((0, 0, 1, 2)))]
        more["excused_by"] = [self.clause() for _ in range(self.source.choice((0, 0, 0, 1)))]
        more["then"] = [self.conclusion(target)]
        if self.chance(0.2):
            more["then"].append(self.conclusion(self.source.choice(written)))
        if target == "third.one" and self.chance(0.7):
            more["overrides"] = [
                f"FUZ-{n:03d}" for n in range(int(rule_id[-3:])) if self.chance(0.6)
            ]
        if self.chance(0.1):
            more["in_force_from"] = str(ON + dt.timedelta(days=self.source.choice((0, 1))))
        return rule(rule_id, **more)

    def conclusion(self, target: str) -> dict[str, Any]:
        raw = FACTS[target]
        more: dict[str, Any] = {"of": self.index()} if "index" in raw else {}
        match raw["type"]:
            case "choices":
                groups = list(raw.get("groups", ()))
                item: Any = self.source.choice([*raw["choices"], *groups])
                if self.looped and target == "second.list":
                    item = {"loop": "muscle"}
                return {"add": target, "item": item}
            case "boolean":
                return {"set": target, "to": self.chance(0.8), **more}
            case "choice":
                return {"set": target, "to": self.source.choice(raw["choices"]), **more}
        if raw.get("has_range"):
            more |= {"low": self.number(), "high": self.number()}
        return {"set": target, "to": self.number(), **more}

    def index(self) -> str:
        return "muscle" if self.looped and self.chance(0.8) else self.source.choice(MUSCLES)

    def condition(self) -> dict[str, Any]:
        if self.chance(0.2):
            return {"any_of": [self.clause() for _ in range(self.source.randint(1, 3))]}
        return self.clause()

    def clause(self) -> dict[str, Any]:  # noqa: PLR0911 - one return a kind
        if self.chance(0.1):
            counted = ["answers.yes", "answers.also"] + ["first.any"] * (self.layer > 1)
            operator = self.source.choice(("at_least", "more_than"))
            return {"count_true": counted, operator: self.number()}
        names = [name for name in FACTS if LAYERS[name.split(".")[0]] < self.layer]
        name = self.source.choice(names)
        raw = FACTS[name]
        where = {"of": self.index()} if "index" in raw else {}
        if self.chance(0.15):
            return {"fact": name, **where, "status": self.source.choice(STATUSES)}
        match raw["type"]:
            case "number":
                operator = self.source.choice((*ORDERED, "equals", "is_not"))
                return {"fact": name, **where, operator: self.number()}
            case "boolean":
                operator = self.source.choice(("equals", "is_not"))
                return {"fact": name, **where, operator: self.chance(0.6)}
            case "choice":
                if self.chance(0.3):
                    return {"fact": name, "one_of": self.source.sample(LETTERS, 2)}
                operator = self.source.choice((*ORDERED, "equals", "is_not"))
                return {"fact": name, operator: self.source.choice(LETTERS)}
            case "choices":
                return self.list_clause(name, raw)
        operator = self.source.choice((*ORDERED, "equals", "is_not"))
        others: list[Any] = [*DATES, {"fact": "context.as_of"}, {"fact": "answers.day"}]
        return {"fact": name, operator: self.source.choice(others)}

    def list_clause(self, name: str, raw: dict[str, Any]) -> dict[str, Any]:
        kind = self.source.choice(("has", "lacks", "not_empty", "count"))
        if kind == "count":
            return {"count_items": name, self.source.choice(ORDERED): self.number()}
        if kind == "not_empty":
            return {"fact": name, "not_empty": True}
        item: Any = self.source.choice(raw["choices"])
        if self.looped and raw["choices"] == MUSCLES:
            item = {"loop": "muscle"}
        return {"fact": name, kind: item}

    def number(self, depth: int = 0) -> Any:
        """A number: literal, parameter, fact, sum, difference, product or calculation."""
        kind = self.source.choice((0, 1, 1, 2, 3, 4, 5, 6) if depth < 2 else (0, 1, 2))
        if kind == 0:
            return self.source.choice((0, 1))
        if kind == 1:
            return {"param": f"p.n{self.source.randrange(len(NUMBERS))}"}
        if kind == 2:
            names = [
                name
                for name, raw in FACTS.items()
                if raw["type"] == "number" and LAYERS[name.split(".")[0]] < self.layer
            ]
            name = self.source.choice(names)
            return {"fact": name, **({"of": self.index()} if "index" in FACTS[name] else {})}
        parts = [self.number(depth + 1), self.number(depth + 1)]
        if kind == 6:
            return {"calculate": "math.doubled", "from": parts[:1]}
        return {("sum", "difference", "product")[kind - 3]: parts}
