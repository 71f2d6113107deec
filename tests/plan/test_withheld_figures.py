"""No figure that the screen withholds reaches the client, in any form of output or in any unit.

The figures looked for are the ones that would have been shown: the person's own numbers and the
numbers of the same case without its flags, in SI and in pounds, inches, stones and kilojoules
(exact definitions: 1 lb = 0.45359237 kg, 1 in = 2.54 cm, 1 kcal = 4.184 kJ).
"""

import dataclasses
import re
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import split_key
from assistant.plan import Planner
from assistant.plan.visibility import withheld_outputs

ROOT = Path(__file__).parents[2]
NUMBER = re.compile(r"(?<![\w.-])-?\d+(?:\.\d+)?")
# A plain number under 100 may be a date's weeks or a session's minutes; with one of these behind it
# it is a figure of body or food.
WITH_UNIT = re.compile(r"(?<![\w.-])(\d+(?:\.\d+)?) ?(?:kg|lb|kcal|kJ|cm|in|st|g|%)(?![\w])")
# Rests in seconds and steps of a load belong to a set, not to body or food.
OF_A_SET = re.compile(
    r'"minutes": [\d.]+|rest \d+ s\b|"rest_s": \d+|[Aa]dd about \d+ % a (?:set|session)|um etwa \d+ % je (?:Satz|Einheit)'
    r'|"warm_up_s": \d+|"percent": \d+|\d at about \d+ %|\d mit etwa \d+ %'
    # The load of an easy set before the working ones, with its repetitions.
    r"|\d+(?:[.,]\d+)? (?:kg|lb) \u00d7 \d+"
    # Sets of a muscle in a week, and what a change makes of them: in quarters, under a hundred.
    r"|\d?\d(?:\.25|\.5|\.75)? over \d days?, asked"
    r"|(?<=[a-z)] )\d?\d(?:\.25|\.5|\.75)? to \d?\d(?:\.25|\.5|\.75)?(?=[,)])"
    # Aerobic minutes are the public ones, alike for everybody.
    r'|"aerobic\.[a-z_]+": \{[^{}]*\}|\{[^{}]*"aerobic\.[^{}]*\}|(?:move for|do well with) \d+ minutes'
    r"|(?:jede Woche|tun) \d+ Minuten"
)
# How many rules of the book never fired.
RULES = re.compile(r"\b\d+ rules\b|fired in no logged plan \(\d+\)")
# How many of the people or plans in a log, and the same in per cent.
SHARE = re.compile(r"\b(\d+) of (\d+) \((\d+) %\)")
BODY_UNIT = re.compile(r"(?<![\w.-])(\d+(?:\.\d+)?) ?(?:kg|lb|cm)(?![\w/])")


def _body_figures(text: str) -> set[str]:
    """Return the numbers of a text that can only be figures of the body, not of food.

    Those with a decimal and three digits (51.7), and those with a unit of the body behind them.
    """
    text = OF_A_SET.sub("", text)
    telling = {n for n in NUMBER.findall(text) if "." in n and len(n) > 3}
    return telling | set(BODY_UNIT.findall(text))


def _unless_a_share(found: re.Match[str]) -> str:
    """Return nothing for a share that is what its two counts make, anything else as it is."""
    part, whole, percent = map(int, found.groups())
    return "" if whole and f"{100 * part / whole:.0f}" == str(percent) else found[0]


def _figures(text: str) -> set[str]:
    """Return the numbers of a text that can only be figures of body or food, dates and hashes out."""
    text = re.sub(r'"[0-9a-f]{12,64}"|logic [0-9a-f]+|\d{4}-\d{2}-\d{2}', "", text)
    text = SHARE.sub(_unless_a_share, OF_A_SET.sub("", RULES.sub("", " ".join(text.split()))))
    telling = {n for n in NUMBER.findall(text) if "." in n or len(n.lstrip("-")) > 2}
    return telling | set(WITH_UNIT.findall(text))


def _unfolded(text: str) -> str:
    """Return a text with the folded lines of a calendar joined (RFC 5545, 3.1)."""
    return re.sub(r"\r\n[ \t]", "", text)


# Answers that raise a flag which withholds body and food figures, on an otherwise clear person.
FLAGGED: Mapping[str, Mapping[str, object]] = {
    "two eating items": {"screen.mind_taken_up": True, "screen.rules_spoil_mood": True},
    "purging": {"screen.purging_or_misuse": ("laxatives",), "screen.purging_symptoms": False},
    "an eating disorder in care": {"screen.eating_disorder": "current_in_care"},
    "a past eating disorder": {"screen.eating_disorder": "past"},
    "pregnant": {"screen.pregnant": True},
    "a minor": {"client.age_years": 16.0},
    "distress about looks": {
        "screen.mind_taken_up": True,
        "screen.hides_body_or_skips_things": True,
    },
    "thin": {"client.weight_kg": 48.5},
    # Food figures stay for these two; weight and tape behind them must not show through `why`.
    "a little thin": {"client.weight_kg": 51.7},
    "would rather not be measured": {"screen.measuring_feels": "rather_not"},
    "a stop": {"screen.symptom_now": ("chest_pain",)},
}

# A week takes seconds to solve, so the sessions are looked through for these only.
WITH_SESSIONS = {"two eating items", "a minor", "a little thin"}


def _in_every_unit(value: float, unit: str) -> set[float]:
    other = {"kg": (1 / 0.45359237, 1 / 6.35029318), "cm": (1 / 2.54,), "kcal/d": (4.184,)}
    return {value, *(value * factor for factor in other.get(unit, ()))}


def _secret_figures(
    kb: KnowledgeBase, case: Case, planner: Planner, hidden: frozenset[str]
) -> set[str]:
    """Return the figures, as printed, of all facts that reveal a withheld output."""
    secret: set[str] = set()
    for key, fact in planner.run(case).facts.items():
        declaration = kb.facts[split_key(key)[0]]
        if not hidden & set(declaration.reveals):
            continue
        for value in (fact.value, fact.low, fact.high):
            if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) < 13:
                continue  # small figures (sets, weeks, hours) stand on every page for other reasons
            for shown in _in_every_unit(float(value), declaration.unit):
                secret |= {
                    f"{shown:.0f}",
                    f"{shown:.1f}",
                    f"{shown:.2f}",
                    f"{round(shown, -1):.0f}",
                }
    return secret


def _readable(text: str) -> str:
    """Return a page without what only places or paints a shape; any other text as it is.

    Titles, descriptions and every other attribute stay in; decimal commas become points. Sets,
    repetitions and seconds of rest go out where only they can stand: cells of a session's table
    (loads stand beside the exercise and stay) and the two pictures of sets.
    """
    if not text.startswith("<!DOCTYPE html>"):
        return text
    text = re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)
    of_sets = r'<td>.*?</td>|<svg[^>]*"(?:week-grid|sets-per-muscle)-title.*?</svg>'
    text = re.sub(of_sets, "", text, flags=re.DOTALL)
    # What a drawing says stands in its title and description; how far a joint is bent is no figure of a body.
    places = (
        r' (?:x|y|x1|x2|y1|y2|cx|cy|r|rx|width|height|viewBox|points|stroke-width)="[-0-9., ]*"'
        r'| (?:d|transform|stroke-dasharray)="[-0-9., a-zA-Z()]*"| xmlns="[^"]*"|-?\d+°'
    )
    text = re.sub(places, "", text)
    return re.sub(r"(?<=\d),(?=\d)", ".", text.replace("Logik ", "logic "))


def _check_pictures(html: str, hidden: frozenset[str]) -> None:
    """A bar's length gives a figure away without a digit, so the picture must not be there."""
    drawn = set(re.findall(r'<title id="([\w-]+)-title">', html))
    if {"energy_number", "protein_number"} <= hidden:
        assert "food" not in drawn
    if "body_measures" in hidden:
        assert not {name for name in drawn if name == "spread" or name.startswith("trend")}


def _file(tmp_path: Path, case: Case) -> Path:
    def plain(value: object) -> str:
        if isinstance(value, bool):
            return str(value).lower()
        return f"[{', '.join(value)}]" if isinstance(value, tuple) else str(value)

    rows = ["name: Invented Person", f'as_of: "{case.as_of.isoformat()}"', "answers:"]
    rows += [f"  {key}: {plain(value)}" for key, value in case.answers.items()]
    path = tmp_path / "case.yaml"
    path.write_text("\n".join(rows) + "\n", "utf-8")
    return path


def _page_commands(path: str) -> list[list[str]]:
    return [
        ["plan", path, "--for", "client"],
        ["plan", path, "--for", "client", "--full"],
        ["plan", path, "--for", "client", "--imperial"],
        ["plan", path, "--for", "client", "--format", "json"],
        ["plan", path, "--for", "client", "--format", "html", "--imperial"],
        ["plan", path, "--for", "client", "--format", "html", "--language", "de"],
        ["plan", path, "--for", "client", "--format", "ics", "--timezone", "Europe/London"],
        ["why", path, "screen.level", "--for", "client", "--all"],
        ["why", path, "energy.target_kcal_per_day", "--for", "client", "--all"],
        ["why", path, "protein.g_per_day", "--for", "client", "--all"],
        ["why", path, "food.target", "--for", "client", "--all", "--imperial"],
        ["why", path, "client.weight_kg", "--for", "client"],
        ["why", path, "no.such.line", "--for", "client"],
    ]


def _audit_commands(path: str) -> list[list[str]]:
    """Return questions of why-not, what-if, flip and picture that come near the figures."""
    clear = ["mind_taken_up=no", "rules_spoil_mood=no", "screen.pregnant=no", "symptom_now=none"]
    asked = [
        ["why-not", path, "energy.surplus_kcal_per_day", "--most", "99"],
        ["why-not", path, "protein.base", "--most", "99"],
        ["why-not", path, "SCR-BMI-THIN"],
        ["what-if", path, "stress=5", "goal=lose_fat", "days=mon,thu"],
        ["what-if", path, "protein.aim_per_lb=top"],
        ["what-if", path, *clear],
        ["flip", path, "energy.target_kcal_per_day"],
        ["flip", path, "week.structure"],
        ["picture", path, "phase.now", "--format", "text"],
        ["picture", path, "energy.target_kcal_per_day", "--format", "mermaid"],
    ]
    return [[*each, "--for", "client"] for each in asked]


# The rest of the people ask the audit commands in the long run.
_QUICK = ("two eating items", "a little thin", "a stop")


@pytest.mark.parametrize(
    ("name", "commands"),
    [
        *((name, _page_commands) for name in FLAGGED),
        *(
            pytest.param(name, _audit_commands, marks=[] if name in _QUICK else pytest.mark.slow)
            for name in FLAGGED
        ),
    ],
)
def test_no_withheld_figure_reaches_the_client(
    kb: KnowledgeBase,
    clear: Case,
    planner: Planner,
    name: str,
    commands: Callable[[str], list[list[str]]],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    flagged = dataclasses.replace(clear, answers={**clear.answers, **FLAGGED[name]})
    hidden = withheld_outputs(planner.run(flagged))
    assert hidden, "the person of this test must be flagged"
    # The same body without the flags tells which figures a plan would have held.
    unflagged = {**clear.answers, "client.weight_kg": flagged.answers["client.weight_kg"]}
    secret = _secret_figures(kb, dataclasses.replace(clear, answers=unflagged), planner, hidden)
    secret |= _secret_figures(kb, flagged, planner, hidden)
    assert secret
    path = str(_file(tmp_path, flagged))
    week = [] if name in WITH_SESSIONS else ["--no-week"]
    outputs = []
    for command in commands(path):
        main([*command, *week] if command[0] == "plan" else command)
        captured = capsys.readouterr()
        outputs.append(_unfolded(_readable(captured.out + captured.err)))
        if "html" in command:
            _check_pictures(captured.out, hidden)
    food_stays = "energy_number" not in hidden
    for text in outputs:
        found = (_body_figures(text) if food_stays else _figures(text)) & secret
        assert not found, f"{sorted(found)} stand in: {text[:300]}"


def test_the_search_would_find_a_leak(
    kb: KnowledgeBase, clear: Case, planner: Planner, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """On the pages of a person without flags the same search does find the figures."""
    secret = _secret_figures(kb, clear, planner, frozenset({"energy_number", "protein_number"}))
    command = ["plan", str(_file(tmp_path, clear)), "--for", "client", "--no-week"]
    main(command)
    assert len(_figures(capsys.readouterr().out) & secret) > 5
    main([*command, "--format", "html"])
    page = capsys.readouterr().out
    assert len(_figures(_readable(page)) & secret) > 5
    # What only the description of a picture says is found too.
    described = " ".join(re.findall(r"<desc[^>]*>(.*?)</desc>", page))
    assert len(_figures(_readable("<!DOCTYPE html>" + described)) & secret) > 2


def test_the_same_search_would_find_a_leak_of_the_audit_commands(
    kb: KnowledgeBase, clear: Case, planner: Planner, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    secret = _secret_figures(kb, clear, planner, frozenset({"energy_number", "protein_number"}))
    path, found = str(_file(tmp_path, clear)), {}
    for command in _audit_commands(path):
        main(command)
        shown = _figures(capsys.readouterr().out) & secret
        found[command[0]] = found.get(command[0], False) or bool(shown)
    assert found == {"why-not": True, "what-if": True, "flip": True, "picture": True}


def test_a_line_that_a_withheld_figure_was_held_against_is_left_out_with_it(
    clear: Case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Arithmetic: a goal weight of 57.43 kg and its scatter of 1 kg make a line of 58.43 kg, 5.07 kg below 63.5."""
    answers = {
        **clear.answers,
        "client.goal": "gain_muscle",
        "client.weight_kg": 63.5,
        "client.goal_weight_kg": 57.43,
    }
    telling = re.compile(r"(?<![\d.])(?:57\.4|58\.4|5\.07)\d*(?![\d.])")
    found = []
    for medicine in ("none", "prescribed_followed"):
        person = {**answers, "screen.weight_medicine": medicine}
        path = str(_file(tmp_path, dataclasses.replace(clear, answers=person)))
        for reader in ("coach", "client"):
            main(["why", path, "phase.goal_unclear", "--all", "--for", reader])
            for form in ("json", "html"):
                main(["plan", path, "--no-week", "--format", form, "--for", reader])
            # Sizes of a drawing are no figures of anybody.
            told = re.sub(r'="[^"]*"', "", capsys.readouterr().out)
            assert "AIM-010" in told
            found.append(bool(telling.search(told)))
    assert found == [True, True, False, False]
