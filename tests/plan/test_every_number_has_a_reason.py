"""Every figure on a page must answer to `why`, down to answers, parameters and a source."""

import re
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.explain.asked import meant
from assistant.explain.picture import Node, picture
from assistant.model.derivation import FactValue, Holds
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Line, Plan
from assistant.model.values import split_key
from assistant.plan.sentences import Narrator

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml"))
Draw = Callable[[str], Iterator[Node]]
FIGURE = re.compile(r"\d{4}-\d{2}-\d{2}|\d+(?:\.\d+)?")
# Counts of the page's own lists and the date of the next questions are no conclusions of a rule.
OWN_FIGURES = {"screen.unanswered", "screen.ask_again"}


def _nodes(node: Node) -> Iterator[Node]:
    yield node
    for below in node.below:
        yield from _nodes(below)


def _made(kb: KnowledgeBase, path: Path, audience: str) -> tuple[Plan, Narrator, Draw]:
    case = read_case(path, kb)
    planner = planner_on(case.as_of)
    narrator = planner.narrator(planner.run(case), audience)  # type: ignore[arg-type]
    drawn = partial(picture, planner.compiled, narrator, levels=99)
    return planner.plan(case, narrator), narrator, lambda key: _nodes(drawn(key))


def _figures_of(fact: FactValue, narrator: Narrator) -> set[str]:
    fact_id, _ = split_key(fact.key)
    ends = [end for end in (fact.value, fact.low, fact.high) if end is not None]
    return {f for end in ends for f in FIGURE.findall(narrator.phrases.value(fact_id, end))}


def _quoted(line: Line, narrator: Narrator) -> set[str]:
    """Return the figures a rule's own sentence quotes, if the rule names where they come from."""
    quoted: set[str] = set()
    for key in line.facts:
        for derivation in narrator.run.facts[key].derivations if key in narrator.run.facts else ():
            rule = narrator.kb.rules[narrator.run.derivation(derivation).rule_id]
            if any(narrator.kb.sources[use.ref].kind != "judgement" for use in rule.source):
                quoted |= set(FIGURE.findall(f"{rule.because} {rule.client_because or ''}"))
    return quoted


def _unexplained(line: Line, narrator: Narrator, draw: Draw) -> set[str]:
    """Return the figures of a line that none of its facts, nor their rules' numbers, account for."""
    allowed = _quoted(line, narrator)
    for key in line.facts:
        if key not in narrator.run.facts:
            continue
        for item in draw(key):
            fact = narrator.run.facts.get(item.key)
            if fact is not None:
                allowed |= _figures_of(fact, narrator)
            for step in item.steps:
                allowed |= {f for use in step.parameters for f in FIGURE.findall(use.value)}
    return set(FIGURE.findall(line.text)) - allowed


def _read_for(node: Node, narrator: Narrator) -> set[str]:
    """Return the facts that made a fact's rules fire, by the records of the run."""
    facts = narrator.run.facts
    fact = facts.get(node.key)
    return {
        key
        for name in ([] if fact is None else fact.derivations)
        for reading in narrator.run.derivation(name).readings
        if reading.role == "when" and reading.holds is Holds.TRUE
        for key in reading.fact.split(",")
        if key in facts and not narrator.hides(key)
    }


@pytest.mark.parametrize("audience", ["coach", "client"])
@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_figure_on_the_page_is_a_fact_or_a_number_of_its_rules(
    kb: KnowledgeBase, path: Path, audience: str
) -> None:
    plan, narrator, draw = _made(kb, path, audience)
    lines = [line for section in plan.sections for line in section.lines]
    assert lines
    orphans = {
        line.id: _unexplained(line, narrator, draw)
        for line in lines
        if line.id not in OWN_FIGURES and _unexplained(line, narrator, draw)
    }
    assert orphans == {}


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_line_walks_down_to_answers_parameters_and_sources(
    kb: KnowledgeBase, path: Path
) -> None:
    plan, narrator, draw = _made(kb, path, "coach")
    walked = 0
    for line in [line for section in plan.sections for line in section.lines]:
        if line.id in OWN_FIGURES or line.id.startswith("gap."):
            continue
        for key in meant(plan, narrator, line.id).keys:
            items = list(draw(key))
            whole = {item.key for item in items if not item.seen_elsewhere}
            for item in items:
                assert item.key in whole or item.kind == "left_out", f"{item.key} is not walked on"
                assert _read_for(item, narrator) <= whole, f"{item.key} is not walked to its end"
                if item.kind == "conclusion" and item.key in narrator.run.facts:
                    # A yes/no fact that no rule can conclude for this muscle is plainly "no".
                    silent = item.value == "no" or narrator.hides(item.key)
                    assert item.steps or silent, f"{line.id}: {item.key} has no derivation"
                for step in item.steps:
                    assert step.sources, f"{step.rule_id} cites nothing"
                    assert all(use.sources for use in step.parameters)
                    walked += 1
    assert walked > 0


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_visible_number_in_the_facts_answers_to_why(kb: KnowledgeBase, path: Path) -> None:
    plan, _, draw = _made(kb, path, "coach")
    for key, fact in plan.facts.items():
        if isinstance(fact.value, bool) or not isinstance(fact.value, int | float):
            continue
        (top, *_) = draw(key)
        assert top.steps, key
        assert fact.grade.value in {"strong", "moderate", "low", "practice"}
