"""Drafts survive a kill at any byte; case files appear whole or not at all."""

import json
import os
import re
import stat
from pathlib import Path

import pytest
from intake_forms import AS_OF, CLEAR_TEXT, CRISIS, small_form, small_knowledge

from assistant.casefiles import read_case
from assistant.casefiles.safe_files import write_atomically
from assistant.cli.intake import NO_NAME, draft_path
from assistant.cli.intake_words import draft_of, new_words
from assistant.cli.main import main
from assistant.clients.book import knowledge
from assistant.intake import dialogue as d
from assistant.intake.case_file import case_text, completed, read_answers
from assistant.intake.dialogue import Dialogue, Ending
from assistant.intake.drafts import (
    Draft,
    Header,
    Remembered,
    forget_draft,
    open_draft,
    read_draft,
)
from assistant.intake.events import Confirmed, Event, SupportShown, to_keep
from assistant.intake.form import form_of
from assistant.intake.quantities import UnitSystem
from assistant.intake.screen import Screen
from assistant.intake.typed import act
from assistant.model.errors import InputProblems
from assistant.model.values import Status

KNOWLEDGE, FORM = small_knowledge(), small_form()
HEADER = Header("Invented Person", "coach", UnitSystem.METRIC)


def opened(path: Path) -> tuple[Draft, Remembered]:
    return open_draft(path, HEADER, KNOWLEDGE, FORM)


def fill(path: Path) -> tuple[d.Dialogue, list[Event]]:
    """Answer the whole small form, with a switch of units; return the end and what was kept."""
    draft, _ = opened(path)
    dialogue, kept = d.start(FORM, "coach"), []
    with draft:
        for text in ("units", "units"):
            step = act(dialogue, text)
            dialogue, kept = step.dialogue, [*kept, *step.events]
            draft.remember(step.events[0])
        while not dialogue.in_review:
            step = act(dialogue, CLEAR_TEXT[dialogue.slot.fact])
            dialogue = step.dialogue
            for event in step.events:
                draft.remember(event)
                kept.append(event)
    return dialogue, kept


def test_a_draft_reads_back_what_was_remembered(tmp_path: Path) -> None:
    path = tmp_path / "draft.jsonl"
    last, kept = fill(path)
    draft, remembered = opened(path)
    draft.__exit__()
    assert remembered == Remembered(HEADER, tuple(map(to_keep, kept)), ())
    resumed = d.replay(d.start(FORM, "coach"), remembered.events)
    # The question about self-harm is open again, and nobody lands on it when they come back.
    assert resumed.in_review
    assert d.finish(resumed).dialogue.slot.fact == CRISIS
    assert {**resumed.answers, CRISIS: False} == last.answers


def test_a_kill_at_any_byte_loses_no_confirmed_answer(tmp_path: Path) -> None:
    whole_path = tmp_path / "whole.jsonl"
    fill(whole_path)
    data = whole_path.read_bytes()
    everything = read_draft(data, "draft", KNOWLEDGE, FORM)
    assert everything is not None
    path = tmp_path / "cut.jsonl"
    for cut in range(len(data) + 1):
        path.write_bytes(data[:cut])
        draft, remembered = opened(path)
        draft.__exit__()
        confirmed = data[:cut].count(b"\n") - 1
        # The byte before a newline completes a line, so it may count one more.
        assert len(remembered.events) in (max(confirmed, 0), max(confirmed + 1, 0))
        assert remembered.events == everything.events[: len(remembered.events)]
        assert path.read_bytes().endswith(b"\n")
        if cut % 10 == 0:
            again, same = opened(path)
            again.__exit__()
            assert same.events == remembered.events


def test_going_on_after_a_torn_line_appends_cleanly(tmp_path: Path) -> None:
    path = tmp_path / "draft.jsonl"
    fill(path)
    path.write_bytes(path.read_bytes()[:-7])
    draft, remembered = opened(path)
    assert any("cut off" in note for note in remembered.notes)
    with draft:
        draft.remember(SupportShown(CRISIS))
    lines = path.read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["kind"] for line in lines][-1] == "support_shown"


def test_the_crisis_answer_is_in_no_file(tmp_path: Path) -> None:
    path = tmp_path / "draft.jsonl"
    last, _ = fill(path)
    about_it = [line for line in path.read_text(encoding="utf-8").splitlines() if CRISIS in line]
    assert about_it == [json.dumps({"kind": "support_shown", "fact": CRISIS})]
    assert CRISIS in last.settled
    for value in (True, False, Status.DECLINED, Status.UNKNOWN):
        text = case_text("Invented Person", AS_OF, {**last.settled, CRISIS: value})
        assert CRISIS not in text


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_draft_and_case_are_for_their_owner_alone(tmp_path: Path) -> None:
    fill(tmp_path / "sub" / "draft.jsonl")
    write_atomically(tmp_path / "case.yaml", "name: x\n")
    for path in (tmp_path / "sub" / "draft.jsonl", tmp_path / "case.yaml"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "sub").stat().st_mode) == 0o700


@pytest.mark.skipif(os.name != "posix", reason="locks are POSIX")
def test_one_draft_is_open_in_one_window(tmp_path: Path) -> None:
    first, _ = opened(tmp_path / "draft.jsonl")
    with first, pytest.raises(InputProblems, match="draft-in-use"):
        opened(tmp_path / "draft.jsonl")


@pytest.mark.parametrize(
    "content",
    [
        b"not json\n",
        b"[]\n",
        b'{"kind": "answer"}\n',
        b'{"kind": "draft", "format": 99, "name": "x", "audience": "coach", "units": "metric"}\n',
    ],
)
def test_a_file_that_is_no_draft_is_refused_and_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "draft.jsonl"
    path.write_bytes(content)
    with pytest.raises(InputProblems, match=r"draft\.jsonl:1: bad-draft"):
        opened(path)
    assert path.read_bytes() == content


def test_answers_that_no_longer_fit_are_asked_again(tmp_path: Path) -> None:
    path = tmp_path / "draft.jsonl"
    fill(path)
    old = [
        {"kind": "answer", "fact": "client.age_years", "value": 900},
        {"kind": "answer", "fact": "client.shoe_size", "value": 41},
    ]
    lines = [path.read_text(encoding="utf-8").splitlines()[0], *map(json.dumps, old)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    draft, remembered = opened(path)
    draft.__exit__()
    assert remembered.events == ()
    assert len(remembered.notes) == 2


def test_a_finished_case_reads_back_as_the_same_answers(tmp_path: Path) -> None:
    last, _ = fill(tmp_path / "draft.jsonl")
    out = tmp_path / "case.yaml"
    write_atomically(out, case_text('Ann "Q" Öster: yes', AS_OF, last.settled))
    case = read_case(out, KNOWLEDGE)
    assert case.name == 'Ann "Q" Öster: yes'
    assert case.as_of == AS_OF
    assert case.answers == {f: v for f, v in last.settled.items() if f != CRISIS}


def test_a_failed_write_leaves_the_old_file_and_no_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "case.yaml"
    out.write_text("old", encoding="utf-8")

    def full_disk(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(OSError, match="No space"):
        write_atomically(out, "new")
    assert out.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [out]


def test_an_answers_file_is_a_case_or_a_mapping(tmp_path: Path) -> None:
    path = tmp_path / "answers.yaml"
    path.write_text("client.age_years: 31\nscreen.medicines: [statin]\n", encoding="utf-8")
    case = read_answers(path, KNOWLEDGE, "Invented Person", AS_OF)
    assert case.answers == {"client.age_years": 31.0, "screen.medicines": ("statin",)}
    path.write_text(
        'name: A\nas_of: "2026-02-01"\nanswers: {client.age_years: 31}\n', encoding="utf-8"
    )
    assert read_answers(path, KNOWLEDGE, "B", AS_OF).name == "A"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("client.age_years: 900\n", r"answers\.yaml:1.*out-of-range"),
        ("client.age_yeers: 31\n", r"answers\.yaml:1.*client\.age_years"),
        ("client.age_years: '31'\n", r"answers\.yaml:1.*bad-type"),
        ("- 31\n", r"answers\.yaml"),
        ("client.age_years: [\n", r"answers\.yaml"),
    ],
)
def test_a_bad_answers_file_is_one_clear_line(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "answers.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputProblems, match=told) as raised:
        read_answers(path, KNOWLEDGE, "Invented Person", AS_OF)
    assert "\n" not in str(raised.value)


def test_answers_from_a_file_stand_even_where_a_question_would_not_apply() -> None:
    given = {"client.sex_for_equations": "male", "screen.pregnant": True}
    answers, missing = completed(given, FORM)
    assert answers["screen.pregnant"] is True
    assert "client.age_years" in missing
    answers, _ = completed({"client.sex_for_equations": "male"}, FORM)
    assert answers["screen.pregnant"] is Status.NOT_APPLICABLE


@pytest.mark.parametrize("name", ["", "Ines Farrow!"])
def test_a_draft_of_one_person_is_never_offered_to_the_next(
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Nameless intakes share a file, and so do names alike but for marks; the answers are one person's."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.chdir(tmp_path)
    kept = "Ines Farrow" if name else NO_NAME
    kb = knowledge(None, None)
    path = draft_path(kept)
    header = Header(kept, "coach", UnitSystem.METRIC)
    draft, _ = open_draft(path, header, kb, form_of(kb, AS_OF))
    with draft:
        draft.remember(Confirmed("client.age_years", 31))
    before = path.read_bytes()
    assert main(["intake", *(["--name", name] if name else [])]) == 2
    told = capsys.readouterr()
    assert "other-draft" in told.err
    assert "31" not in (told.out + told.err).replace(str(tmp_path), "")
    assert path.read_bytes() == before


def test_a_draft_of_somebody_alone_opens_by_its_words_alone(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Two people of one name at one computer: neither is shown what the other answered."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.chdir(tmp_path)
    words = new_words()
    assert len(words.split()) == 4
    path = draft_of(words)
    assert not any(word in path.name for word in words.split()), "the file's name tells no word"
    kb = knowledge(None, None)
    draft, _ = open_draft(path, Header("Anna", "self", UnitSystem.METRIC), kb, form_of(kb, AS_OF))
    with draft:
        draft.remember(Confirmed("client.age_years", 31))
    shown: list[tuple[Dialogue, list[str]]] = []

    def leave(_: Screen, dialogue: Dialogue, greeting: list[str]) -> tuple[Dialogue, Ending]:
        shown.append((dialogue, greeting))
        return dialogue, Ending.SAVED

    monkeypatch.setattr(Screen, "run", leave)
    monkeypatch.setattr(Screen, "__init__", lambda *_: None)
    assert main(["intake", "--self", "--name", "Anna", "--out", "a.yaml"]) == 0
    assert main(["intake", "--self", "--words", words.upper(), "--out", "a.yaml"]) == 0
    (anew, greeting), (again, _) = shown
    assert anew.answers == {}
    assert again.answers == {"client.age_years": 31}
    other = re.search(r'--words "([a-z ]+)"', " ".join(greeting))
    assert other is not None
    assert other[1] != words
    assert f'--words "{other[1]}"' in capsys.readouterr().out
    assert main(["intake", "--self", "--words", "moon moon moon moon", "--out", "a.yaml"]) == 2
    assert "begin anew without --words" in capsys.readouterr().err
    assert forget_draft("Anna")
    assert not path.exists()
