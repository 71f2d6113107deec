"""`whyplan exercise`: words of a name find a card, in both languages, as text and as a page."""

import dataclasses
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.how_to import how_to
from assistant.plan.language import FOREIGN_START, read_language


def _printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["exercise", *words]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    return " ".join(printed.out.split())


@pytest.mark.parametrize(
    "words", [["squat_goblet"], ["goblet"], ["Goblet", "squat"], ["squat goblet"]]
)
def test_an_id_or_words_of_a_name_find_it(
    capsys: pytest.CaptureFixture[str], kb: KnowledgeBase, words: list[str]
) -> None:
    out, entry = _printed(capsys, *words), kb.how_to["squat"].by_id["squat_goblet"]
    for _, text in entry.for_client():
        assert text in out
    assert entry.watch in out
    assert "Easier ------ Bodyweight squat" in out
    assert "With less equipment ------------------- Bodyweight squat" in out


@pytest.mark.parametrize("form", ["text", "html"])
def test_names_that_hold_commas_are_set_apart(
    capsys: pytest.CaptureFixture[str], form: str
) -> None:
    out = _printed(capsys, "press_bench_barbell", "--language", "de", "--format", form)
    assert "Liegestütz, Hände erhöht; Liegestütz; Liegestütz von den Knien" in out


def test_a_client_reads_nothing_for_the_coach(
    capsys: pytest.CaptureFixture[str], kb: KnowledgeBase
) -> None:
    entry = kb.how_to["squat"].by_id["squat_goblet"]
    for form in ("text", "html"):
        assert entry.watch not in _printed(capsys, "goblet", "--client", "--format", form)
        assert entry.watch in _printed(capsys, "goblet", "--format", form)


def test_a_german_name_finds_the_german_card(
    capsys: pytest.CaptureFixture[str], kb: KnowledgeBase
) -> None:
    said = kb.how_to_said["de/squat"].by_id["squat_front_barbell"]
    for form in ("text", "html"):
        out = _printed(capsys, "frontkniebeuge", "--language", "de", "--format", form)
        for _, text in said.for_client():
            assert text in out
    assert "Frontkniebeuge mit Langhantel" in out
    assert '<html lang="de">' in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["squat", "barbell"], "`squat_box_barbell`, `squat_back_barbell`, `squat_front_barbell`; write one of them"),
        (["gobblet", "squat"], "is no exercise; did you mean"),
        (["goblet", "--language", "fr"], "there are no messages in `fr`"),
        (["..."], "give an id or words of a name"),
    ],
)  # fmt: skip
def test_what_is_meant_by_no_or_by_several_is_one_clear_line(
    capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    assert main(["exercise", *words]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert says in printed.err
    assert len(printed.err.splitlines()) == 1


def test_the_page_is_one_whole_card_without_scripts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "card.html"
    assert main(["exercise", "goblet", "--format", "html", "--out", str(out)]) == 0
    assert capsys.readouterr().out == ""
    open_tags: list[str] = []

    class Tags(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            assert tag != "script"
            assert not {name for name, _ in attrs} & {"style", "onclick", "src"}
            open_tags.append(tag)

        def handle_endtag(self, tag: str) -> None:
            while open_tags and open_tags[-1] == "meta":
                open_tags.pop()
            assert open_tags.pop() == tag

    Tags().feed(out.read_text("utf-8"))
    assert open_tags == []


def test_what_a_language_does_not_say_stays_english_and_marked(kb: KnowledgeBase) -> None:
    german = read_language(kb, "de")
    poorer = dataclasses.replace(kb, how_to_said={})
    card = how_to(poorer, "squat_goblet", german)
    assert card is not None
    assert card.exercise.name == "Goblet-Kniebeuge"
    texts = [card.set_up, *card.steps, card.feel, card.stop, card.first_load, card.watch]
    texts += [each for pair in card.faults for each in pair]
    assert all(text.startswith(FOREIGN_START) for text in texts)
    whole = how_to(kb, "squat_goblet", german)
    assert whole is not None
    assert FOREIGN_START not in repr(whole)


def test_an_exercise_that_is_not_there(kb: KnowledgeBase) -> None:
    with pytest.raises(KeyError):
        how_to(kb, "squat_gobblet", read_language(kb, "en"))
    assert (
        how_to(dataclasses.replace(kb, how_to={}), "squat_goblet", read_language(kb, "en")) is None
    )


CASE = str(Path(__file__).parents[2] / "cases" / "four_days.yaml")


def test_a_deck_holds_a_card_for_each_exercise_of_the_week(
    capsys: pytest.CaptureFixture[str], kb: KnowledgeBase
) -> None:
    assert main(["week", CASE]) == 0
    week = capsys.readouterr().out
    out = _printed(capsys, "--deck", CASE, "--format", "html", "--client")
    dealt = re.findall(r'<article class="card" id="card-([a-z0-9_]+)"', out)
    rows = kb.exercises.by_id
    assert len(dealt) == len(set(dealt)) > 8
    # Words of the page in capitals and bold apart, a deck says no exercise the week does not hold.
    assert all(rows[name].name in week for name in dealt)
    assert "Easier." not in out
    assert "With less equipment." not in out


def test_a_person_who_is_stopped_gets_no_deck(capsys: pytest.CaptureFixture[str]) -> None:
    stopped = str(Path(CASE).with_name("stop_today.yaml"))
    assert main(["exercise", "--deck", stopped]) == 1
    assert capsys.readouterr().out == "No deck: there are no sessions; `whyplan plan` says why.\n"


@pytest.mark.parametrize("words", [[], ["goblet", "--deck", CASE]])
def test_an_exercise_or_a_deck(capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
    assert main(["exercise", *words]) == 2
    assert "say one exercise, or --deck" in capsys.readouterr().err


def test_the_deck_is_not_written_over_the_case(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["exercise", "--deck", CASE, "--out", CASE]) == 2
    assert "is read by this command" in capsys.readouterr().err
