"""The exercise book holds together: each slip is told with its line, and nothing is missing.

The words are common practice with no source; what is checked here is that they are whole, plain and safe.
"""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from forbidden_words import BANNED, SHAMING
from lengths import first_by_default

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import rules_directory
from assistant.knowledge.drafting import read_draft
from assistant.model.knowledge import KnowledgeBase

GERMAN = "languages/how_to/de"
LONGEST_SENTENCE = 20
# What a client without training behind them would have to look up.
JARGON = re.compile(
    r"\b(brace|bracing|eccentric|concentric|scapula\w*|anterior|posterior|glutes?|quads|hamstrings"
    r"|lats|core|RPE|AMRAP|lumbar|thoracic|neutral spine|range of motion)\b"
    r"|\b(exzentrisch|konzentrisch|lumbal|thorakal|Core)\b",
    re.IGNORECASE,
)
# Holding the breath is never asked for: pressure in the head and belly is held down for some clients.
BREATH_HELD = re.compile(
    r"hold your breath|halte? (die|den) (luft|atem) an|luft anhalten", re.IGNORECASE
)

# A person whose body numbers are withheld reads these texts, too: no load is told by what somebody weighs.
WEIGHED = re.compile(
    r"\b(body ?weight|your own weight|kilos?|kilograms?|pounds?)\b|Körpergewicht|eigene[sn]? Gewicht",
    re.IGNORECASE,
)


@pytest.fixture(scope="module")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(rules_directory(), tmp_path_factory.mktemp("book") / "rules"))


@pytest.fixture
def told(shipped: Path) -> Iterator[Callable[..., list[str]]]:
    """Put a slip into one file of a copy and return what is told; the file is mended afterwards."""
    before: dict[Path, bytes] = {}

    def run(file: str, old: str, new: str) -> list[str]:
        path = shipped / file
        before[path] = path.read_bytes()
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), "utf-8")
        line = text[: text.index(old)].count("\n") + 1
        _, problems = read_draft(shipped, calculators=CALCULATORS)
        return [f"{line}", *map(str, problems)]

    yield run
    for path, raw in before.items():
        path.write_bytes(raw)


def _texts(kb: KnowledgeBase) -> Iterator[tuple[str, str]]:
    for name, file in {**kb.how_to, **kb.how_to_said}.items():
        for entry in file.exercises:
            for path, text in (*entry.for_client(), (("watch",), entry.watch)):
                yield f"{name} {entry.id} {path}", text


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    first_by_default([
        ("how_to/squat.yaml", "id: squat_goblet\n", "id: squat_gobblet\n", "did you mean `squat_goblet`"),
        ("how_to/squat.yaml", "id: squat_goblet\n", "id: leg_press\n", "belongs to the pattern `leg_press`"),
        ("how_to/squat.yaml", "id: squat_goblet\n", "id: squat_belt\n", "`squat_belt` stands twice"),
        ("how_to/squat.yaml", "without_kit: [squat_bodyweight]", "without_kit: [squat_bodywait]", "did you mean `squat_bodyweight`"),
        ("how_to/squat.yaml", "without_kit: [squat_bodyweight]", "without_kit: [calf_raise_floor]", "is chosen for calves"),
        ("how_to/squat.yaml", "without_kit: [squat_bodyweight]", "without_kit: [leg_press]", "does not do with less kit than `squat_goblet`"),
        ("how_to/squat.yaml", "    feel: ", "    feels: ", "did you mean `feel`"),
        ("how_to/squat.yaml", "Sit down between your legs", "{sit} down between your legs", "`{sit}` is not known here"),
        (f"{GERMAN}/squat.yaml", "id: squat_goblet\n", "id: squat_gobblet\n", "did you mean `squat_goblet`"),
        (f"{GERMAN}/squat.yaml", '      - "Halte das Gewicht dicht', '      - "Eins."\n      - "Halte das Gewicht dicht', "has 5 steps here and 4 in English"),
    ], 2),
)  # fmt: skip
def test_a_slip_is_told_with_its_line(
    told: Callable[..., list[str]], file: str, old: str, new: str, says: str
) -> None:
    line, *problems = told(file, old, new)
    found = [each for each in problems if says in each]
    assert found, problems
    place, _, _ = found[0].partition(": ")
    assert place.startswith(f"rules/{file}:")
    # The number of steps is told where the steps begin, a doubled entry at its second place.
    if "steps" not in says and "twice" not in says:
        assert place.endswith(f":{line}")


def test_an_exercise_that_is_not_told_is_a_fault(
    told: Callable[..., list[str]], kb: KnowledgeBase
) -> None:
    last = kb.how_to["squat"].exercises[-1].id
    text = (rules_directory() / "how_to/squat.yaml").read_text("utf-8")
    _, *problems = told("how_to/squat.yaml", text[text.index(f"  - id: {last}") :], "")
    missing = [each for each in problems if f"how `{last}` is done is not written" in each]
    assert re.match(r"rules/exercises\.yaml:\d+: missing-entry: ", missing[0])


def test_a_pattern_without_its_file_is_a_fault(shipped: Path, kb: KnowledgeBase) -> None:
    path = shipped / "how_to/carry.yaml"
    before = path.read_bytes()
    path.unlink()
    try:
        _, problems = read_draft(shipped, calculators=CALCULATORS)
    finally:
        path.write_bytes(before)
    told = "\n".join(map(str, problems))
    for entry in kb.how_to["carry"].exercises:
        assert f"how `{entry.id}` is done is not written; add it to how_to/carry.yaml" in told
    assert "there is no how_to/carry.yaml that this says" in told


@pytest.mark.parametrize(
    ("file", "says"),
    first_by_default(
        [
            ("how_to/squats.yaml", "`squats` is no movement pattern; did you mean `squat`?"),
            ("languages/how_to/fr/squat.yaml", "there are no messages in `fr`; languages: de, en"),
            (
                f"{GERMAN}/sqat.yaml",
                "there is no how_to/sqat.yaml that this says; did you mean `squat`?",
            ),
            ("languages/how_to/squat.yaml", "folders inside folders are not read"),
            ("how_to/more/squat.yaml", "folders inside folders are not read"),
        ]
    ),
)
def test_a_file_out_of_place_is_told(shipped: Path, file: str, says: str) -> None:
    path = shipped / file
    path.parent.mkdir(exist_ok=True)
    path.write_text("schema_version: 1\nexercises: []\n", "utf-8")
    try:
        _, problems = read_draft(shipped, calculators=CALCULATORS)
    finally:
        path.unlink()
    assert says in "\n".join(map(str, problems))
    assert f"rules/{file}" in "\n".join(map(str, problems))


def test_a_book_without_it_says_nothing_of_it(shipped: Path) -> None:
    folders = [shipped / "how_to", shipped / "languages/how_to"]
    away = [folder.rename(shipped.parent / f"away{at}") for at, folder in enumerate(folders)]
    try:
        _, problems = read_draft(shipped, calculators=CALCULATORS)
        assert problems == []
    finally:
        for folder, kept in zip(folders, away, strict=True):
            kept.rename(folder)


def test_every_language_tells_every_exercise(kb: KnowledgeBase) -> None:
    for code in set(kb.languages) - {"en"}:
        for pattern, file in kb.how_to.items():
            said = kb.how_to_said[f"{code}/{pattern}"]
            assert [each.id for each in said.exercises] == [each.id for each in file.exercises]


def test_texts_are_plain(kb: KnowledgeBase) -> None:
    """Sentences of twenty words at most, no figures, no words of the trade, nobody shamed or promised a cure."""
    forbidden = (BANNED, SHAMING, JARGON, BREATH_HELD, WEIGHED, re.compile(r"\d"))
    wrong = []
    for where, text in _texts(kb):
        sentences = re.split(r"[.!?]", text)
        wrong += [f"{where}: too long: {s}" for s in sentences if len(s.split()) > LONGEST_SENTENCE]
        wrong += [f"{where}: {f[0]!r}" for each in forbidden if (f := each.search(text))]
    assert wrong == []


def test_stop_names_pain_and_dizziness(kb: KnowledgeBase) -> None:
    for file in kb.how_to.values():
        for entry in file.exercises:
            assert re.search(r"\b(pain|hurt)", entry.stop), entry.id
            assert "dizz" in entry.stop, entry.id
    for name, said in kb.how_to_said.items():
        for each in said.exercises if name.startswith("de/") else ():
            assert re.search(r"[Ss]chmerz", each.stop), each.id
            assert re.search(r"[Ss]chwind", each.stop), each.id


# What a flag of the row calls for, in English and in German.
SAFETY = {
    "load_on_shoulders": ("safety bars", "blagen"),
    "high_bracing": (r"[Bb]reath", r"[Aa]tme"),
    "balance_demand": (r"[Hh]old|hand on|support|[Ww]all", r"[Hh]alt|Hand an|Wand|abstütz"),
    "head_down": (r"dizz", r"[Ss]chwind"),
    "load_over_face": (
        r"spotter|safety|somebody|helper|hands? you|rack|lap",
        r"Ablage|jemand|Hilfe|Schoß|reich",
    ),
    "passive_hang": (r"[Bb]ox|[Ss]tep|floor|feet", r"[Kk]asten|[Ss]tufe|Boden|Füße"),
}


@pytest.mark.parametrize("flag", SAFETY)
def test_a_flag_calls_for_its_safety_step(kb: KnowledgeBase, flag: str) -> None:
    told_of = 0
    for row in kb.exercises.exercises:
        file = kb.how_to.get(row.pattern)
        if flag not in row.flags or file is None:
            continue
        told_of += 1
        entries = (file.by_id[row.id], kb.how_to_said[f"de/{row.pattern}"].by_id[row.id])
        for entry, pattern in zip(entries, SAFETY[flag], strict=True):
            said = " ".join(text for _, text in entry.for_client())
            assert re.search(pattern, said), (row.id, pattern)
    assert told_of


# What only an exercise with one of these flags may ask for: a client whose limits take the flag out is asked
# for it by no other exercise. Judgement, no source.
ASKED_ONLY_WITH = {
    r"\bpoke\b|anstups": {"high_bracing", "trunk_pressure"},
    r"\b(hold|stay)\b[^.;]*\blonger|\b(halte|bleib)\b[^.;]*\blänger": {"trunk_pressure"},
}


@pytest.mark.parametrize("cue", ASKED_ONLY_WITH)
def test_what_a_limit_takes_is_asked_for_by_no_exercise_it_leaves(
    kb: KnowledgeBase, cue: str
) -> None:
    rows = kb.exercises.by_id
    wrong = [
        f"{name} {entry.id}: {text}"
        for name, file in {**kb.how_to, **kb.how_to_said}.items()
        for entry in file.exercises
        if not ASKED_ONLY_WITH[cue] & {*rows[entry.id].flags}
        for _, text in entry.for_client()
        if re.search(cue, text, re.IGNORECASE)
    ]
    assert wrong == []
