"""Pairs of sentences that must never stand on one page, as data, and what finds them.

Written from the meaning of what the screen leaves out, not from the code: what is left out, asked for
or limited on a page may not be offered, denied or given in full elsewhere on the same page.
"""

import re
from collections.abc import Collection
from dataclasses import dataclass, field

# Readers of a page: the plan for the coach or the client, the client's page in HTML, the note.
EVERYWHERE = frozenset({"coach", "client", "html", "note"})
CLIENT = frozenset({"client", "html"})
PLAN = frozenset({"coach", "client", "html"})


@dataclass(frozen=True)
class Pair:
    """Two things that contradict each other.

    while_: outputs of which one is left out, or a sentence on the same page. never: what may then not
    stand there. flagged: holds for whoever has a flag. on: which readers' pages. outside_first: the
    lines of the first section name what is left out, so only the others are searched.
    """

    name: str
    never: str
    withheld: frozenset[str] = field(default_factory=frozenset)
    while_: str = ""
    flagged: bool = False
    on: frozenset[str] = EVERYWHERE
    outside_first: bool = False


@dataclass(frozen=True)
class Page:
    """One page as text without line breaks: all of it, and without its first section."""

    reader: str
    text: str
    rest: str


@dataclass(frozen=True)
class Person:
    """What the screen found: flags in force, outputs left out."""

    flags: Collection[str]
    withheld: Collection[str]


NO_TRAINING = r"[Tt]raining waits|[Nn]o training (until|plan)|Sessions rest|Pause all exercise"
TRAINS = (
    r"\d sets a week|sets of \d|good (ones|repetitions) left|Your week:|Structure: \w|Keep these exercises"
    r"|Block of \d|you will find them in the week|(?<!efore )[Ww]e (put|train) \w|[Ww]e start gently"
    r"|\b[Tt]raining goes on|[Ll]ifting goes on|Keep training|You (can )?go on|[Ww]e continue: \w+ \w*training goes"
    r"|stays trained"
)
IN_FULL = (
    r"[Nn]othing about (?:your )?training changes|[Nn]ormal plan|train as usual|plan is complete"
)
LIMITED = (
    r"comfortable effort|moderate effort|easier pace|leave out (jumps|tests|long spells|bending)"
    r"|are left out\.|Left out for now: [^.]*(any training|hard sets|tests of the most|jumps)"
)
FOOD_FIGURE = r"\bkcal\b|\d g a day|\d g of protein|\bkJ\b"
CUTS = (
    r"\b[Dd]eficit|\blean out|\bfat loss\b(?! is left out)|[Ll]ose fat|below maintenance|Right now: cut|eat less\b"
    r"|[Ss]low and steady keeps muscle|[Kk]ept short\. Stop it"
)

PAIRS = (
    Pair("nothing in the way, beside a flag", flagged=True,
         never=r"[Nn]othing (you told us|in (the|your) answers) (stands|holds)|nothing is held back"
         r"|no note is needed|Es steht nichts im Weg"),
    Pair("nobody to see, beside somebody to see", while_=r"Please see |[Ww]aits until someone",
         never=r"need to see nobody", on=CLIENT),
    Pair("training waits, and sessions", while_=NO_TRAINING, never=TRAINS, on=PLAN),
    Pair("training is left out, and sessions", withheld=frozenset({"exercise_any"}), never=TRAINS),
    Pair("in full, beside a limit", while_=LIMITED, never=IN_FULL),
    Pair("in full, and outputs of training left out", never=IN_FULL,
         withheld=frozenset({"exercise_any", "vigorous_effort", "max_tests", "impact_work"})),
    Pair("hard sets where hard effort is left out", withheld=frozenset({"vigorous_effort"}),
         never=r"\bhard sets a week|hard sets for one|stop with [0-3] (to [0-9] )?good|close to failure"
         r"|near enough to grow|shortly before you would fail|fail a set|[Ff]ailure on every set"
         r"|until [0-3] (is|are) left", outside_first=True, on=PLAN),
    Pair("food figures left out, and food figures", never=FOOD_FIGURE, on=PLAN, outside_first=True,
         while_=r"leaves? out food|[Ll]eave out (every |food |food and body )?figures?\b|no food figures"
        r"|comfortable and figures out|[Ll]eave out every",
    ),
    Pair("energy figures left out", withheld=frozenset({"energy_number"}), never=r"\bkcal\b|\bkJ\b"),
    Pair("protein figures left out", withheld=frozenset({"protein_number"}),
         never=r"Protein: \w*\s?\d|\d g of protein"),
    Pair("the team sets the food, and the page does", while_=r"team sets food", never=FOOD_FIGURE),
    Pair("no jumps, and a jump", withheld=frozenset({"impact_work"}), outside_first=True, on=PLAN,
         never=r"\d\. [^:]*\b([Jj]ump|[Hh]op|[Bb]ound|[Ss]print|[Rr]unning|[Ss]kipping rope)"),
    Pair("not measured, and weighing", withheld=frozenset({"body_measures"}), outside_first=True, on=PLAN,
         never=r"\b[Ww]eigh(ing|ed)?\b(?! of your| the)|\btape\b|[Ss]cales\b|photos?\b|weeks of weights"
         r"|measure you against|[Ww]aist \d|Useful weight gain"),
    Pair("scales not wanted, and weighing", while_=r"No scales, tape", outside_first=True, on=PLAN,
         never=r"\bweighing\b|\btape\b|measure you against|weeks of weights"),
    Pair("weight aside, and weight", while_=r"leaves? weight (aside|out)|leave weight out", on=CLIENT,
         never=r"\bweighing\b|goal weight|kg a week|Weight to expect", outside_first=True),
    Pair("no cut, and a cut", withheld=frozenset({"energy_deficit"}), never=CUTS, on=CLIENT),
    Pair("no cut for the coach either", withheld=frozenset({"energy_deficit"}), outside_first=True,
         on=frozenset({"coach"}), never=r"Phase now: (cut|lose)|Fat loss (from|until|begins)|-\d+ kcal a day"),
    Pair("at most a small deficit, and none", withheld=frozenset({"energy_deficit"}),
         never=r"[Aa]t most a small deficit", on=frozenset({"coach"})),
    Pair("no surplus, and a surplus", withheld=frozenset({"energy_surplus"}), on=PLAN,
         never=r"Right now: build|Phase now: build|[Bb]uild until|modest surplus is fine"
         r"|kcal a day over maintenance|[Uu]seful weight gain"),
    Pair("no training, and a surplus", withheld=frozenset({"exercise_any"}), on=PLAN,
         never=r"Right now: build|Phase now: build|kcal a day over maintenance|[Ss]urplus: \w*\s?\d"),
    Pair("food held steady, and more or less", while_=r"hold food steady|keep food steady|food steady",
         never=r"Right now: (build|cut|lose)|[Ll]ean out", on=CLIENT),
    Pair("no tests, and a test", withheld=frozenset({"max_tests"}), outside_first=True, on=PLAN,
         never=r"[Tt]est your (best|max)|one[- ]repetition maximum|maximal attempt"),
    Pair("looks wait, and looks", while_=r"a look can wait|[Tt]he shape goal waits|leave comparisons out"
         r"|mirrors and photos", never=r"looks smaller|frames the waist|your own start|someone else's figure"
         r"|We put \w|Priority muscles: \w+( \w+)*\. ", on=PLAN),
    Pair("no plan today, and a plan", while_=r"No plan today",
         never=rf"{TRAINS}|{FOOD_FIGURE}|Sleep: aim|Look again on|Right now:", on=PLAN),
    Pair("evenly, and a priority", while_=r"train (all of you|you|the whole body) evenly|body is trained evenly",
         never=r"[Ww]e put \w+.* first\.|Priority muscles: (?!not)\w", on=PLAN),
    Pair("we continue what we have paused", never=r"[Ww]e continue: .*in full", on=frozenset({"note"}),
         while_=r"We have paused until we hear from you: [^.]*(any training|hard sets|tests|jumps)"),
)  # fmt: skip


def contradictions(page: Page, person: Person) -> list[str]:
    """Return what contradicts itself on a page: the pair's name and the words found."""
    found = []
    for pair in PAIRS:
        if page.reader not in pair.on or not _holds(pair, page, person):
            continue
        text = page.rest if pair.outside_first else page.text
        match = re.search(pair.never, text)
        if match:
            near = text[max(match.start() - 50, 0) : match.end() + 40]
            found.append(f"{pair.name} ({page.reader}): {near}")
    return found


def _holds(pair: Pair, page: Page, person: Person) -> bool:
    if pair.flagged:
        return bool(person.flags)
    if pair.withheld:
        return not pair.withheld.isdisjoint(person.withheld)
    return re.search(pair.while_, page.text) is not None
