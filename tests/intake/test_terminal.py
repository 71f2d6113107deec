"""The intake in a real terminal: back, skip, why, units, a kill in the middle, going on, finishing."""

import json
import os
import shutil
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from intake_forms import AS_OF, CLEAR_TEXT, CRISIS, small_knowledge, write_small_book
from tmux_pane import Pane

from assistant.casefiles import read_case
from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue
from assistant.intake.form import form_of
from assistant.intake.layout import question_lines, wrapped
from assistant.intake.typed import act
from assistant.knowledge import load_knowledge
from assistant.model.values import Status

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")
PROJECT = Path(__file__).parents[2]


@pytest.fixture
def pane(tmp_path: Path) -> Iterator[Pane]:
    opened = Pane(tmp_path)
    yield opened
    opened.close()


class Session:
    """An intake in a pane beside the pure dialogue that says what must be on the screen."""

    def __init__(self, pane: Pane, folder: Path) -> None:
        self.pane, self.folder = pane, folder
        self.book = write_small_book(folder / "rules")
        self.draft, self.case = folder / "draft.jsonl", folder / "case.yaml"
        self.dialogue = d.start(form_of(load_knowledge(self.book), AS_OF), "coach")

    def launch(self, *more: str) -> None:
        command = [sys.executable, "-m", "assistant.cli.main", "intake", "--rules", str(self.book)]
        command += ["--journal", str(self.draft), "--out", str(self.case)]
        command += ["--name", "Invented Person", "--as-of", AS_OF.isoformat(), *more]
        environment = {"PYTHONPATH": str(PROJECT), "NO_COLOR": "1", "TERM": "screen"}
        self.pane.start(command, {**environment, "XDG_CACHE_HOME": str(self.folder / "cache")})
        self.sees_question(self.dialogue)

    def say(self, text: str, key: str | None = "Enter", command: str | None = None) -> str:
        """Type a line, advance the mirror, and wait for what it says must be shown."""
        step = act(self.dialogue, text if command is None else command)
        self.dialogue = step.dialogue
        self.pane.type(text, key)
        if step.support:
            return self.pane.wait_for(step.support)
        if step.notice:
            told = "\n".join(wrapped(step.notice, 79))
            self.pane.wait(
                lambda shown: told in "\n".join(map(str.rstrip, shown.splitlines())), told
            )
        return self.sees_question(self.dialogue)

    def sees_question(self, dialogue: Dialogue) -> str:
        if dialogue.in_review:
            return self.pane.wait(lambda shown: shown.rstrip().count("review>") > 0, "the review")
        lines = question_lines(dialogue, 79)
        wanted = "\n".join(line.rstrip() for line in lines) + "\n>"

        def holds(shown: str) -> bool:
            plain = "\n".join(line.rstrip() for line in shown.splitlines())
            return plain[plain.rfind(lines[0]) :].startswith(wanted)

        return self.pane.wait(holds, wanted)

    def kept(self) -> list[dict[str, object]]:
        return [json.loads(line) for line in self.draft.read_text(encoding="utf-8").splitlines()]


def test_a_whole_intake_with_a_kill_in_the_middle(pane: Pane, tmp_path: Path) -> None:
    session = Session(pane, tmp_path)
    session.launch()
    why_units_and_back(session)
    killed_with_an_answer_half_typed(session)
    completion_then_ctrl_c(session)
    to_the_review(session)
    change_one_answer_and_finish(session)

    case = read_case(session.case, small_knowledge())
    assert case.name == "Invented Person"
    assert case.answers == {f: v for f, v in session.dialogue.settled.items() if f != CRISIS}
    assert case.answers["client.age_years"] == 32
    assert case.answers["client.height_cm"] == 65 * 2.54
    assert case.answers["client.weight_kg"] == 63.5029318  # 140 lb of exactly 0.45359237 kg
    assert case.answers["client.goal_weight_kg"] is Status.UNKNOWN
    assert case.answers["screen.severe_low_sugar_last_24h"] is Status.NOT_APPLICABLE


def why_units_and_back(session: Session) -> None:
    session.say("female")
    session.say("31")
    assert "Why we ask: client.height_cm changes the plan" in session.say("why")
    assert "Units are now imperial" in session.say("units")
    # What is wrong shows while typing, before Enter.
    session.pane.type("5 ft 12", key=None)
    session.pane.wait_for("inches go from 0 to under 12")
    session.pane.type("", key="C-u")
    session.say("5 ft 5")
    session.say("140")
    assert "Your answer: 140 lb (Enter keeps it)" in session.say("", key="C-b", command="back")
    session.say("")
    session.say("skip")
    assert session.dialogue.slot.fact == "screen.pregnant"


def killed_with_an_answer_half_typed(session: Session) -> None:
    session.pane.type("ye", key=None)
    session.pane.wait_for("> ye")
    session.pane.kill()
    session.pane.close()
    assert [line["value"] for line in session.kept() if line["kind"] == "answer"] == [
        "female", 31, 165.1, 63.5029318, "unknown",
    ]  # fmt: skip
    before = session.dialogue
    session.dialogue = d.at_first_open(before)
    assert session.dialogue.answers == before.answers
    session.launch()
    shown = session.pane.text()
    assert "Going on with the draft" in shown
    assert ", imperial" in shown


def completion_then_ctrl_c(session: Session) -> None:
    session.say("no")
    session.say("", key="F1", command="why")
    session.say("0")
    session.pane.type("sta", key=None)
    # The list opens in its own time; a Tab typed before it only opens it, so wait as a person would.
    session.pane.wait(lambda shown: "\n      statin" in shown, "the list of completions")
    session.pane.type("", key="Tab")
    session.pane.wait_for("> statin")
    session.say("", command="statin")
    session.pane.type("", key="C-c")
    assert "Your answers are kept" in session.pane.ended()
    session.pane.close()
    session.dialogue = d.at_first_open(session.dialogue)
    session.launch()


def to_the_review(session: Session) -> None:
    while not session.dialogue.in_review:
        fact = session.dialogue.slot.fact
        session.say(CLEAR_TEXT[fact])
        if fact == CRISIS:
            session.pane.wait_for("Press Enter to go on")
            session.pane.type("")
            session.sees_question(session.dialogue)
    assert not any("value" in line for line in session.kept() if line.get("fact") == CRISIS)


def change_one_answer_and_finish(session: Session) -> None:
    session.pane.type("")
    session.pane.wait_for("page 2 of")
    form = session.dialogue.form
    number = session.dialogue.applicable.index(form.index_of("client.age_years")) + 1
    session.say(str(number))
    session.say("32")
    session.pane.type("finish")
    assert "Next: whyplan plan " in session.pane.ended()
    assert not session.draft.exists()


def test_a_small_terminal_shows_whole_words_and_no_line_too_long(tmp_path: Path) -> None:
    pane = Pane(tmp_path, width=40, height=12)
    try:
        session = Session(pane, tmp_path)
        command = [sys.executable, "-m", "assistant.cli.main", "intake"]
        command += ["--rules", str(session.book), "--journal", str(session.draft)]
        command += ["--out", str(session.case), "--self", "--imperial"]
        pane.start(command, {"PYTHONPATH": str(PROJECT), "TERM": "screen"})
        asked = replace(session.dialogue, audience="self", units=session.dialogue.units.other)
        pane.wait_for("I am asked about")
        pane.wait_for("imperial")
        for line in question_lines(asked, 39):
            assert len(line) <= 39
            assert line in pane.wait_for(line)
        pane.type("", key="C-c")
        pane.ended()
    finally:
        pane.close()


@pytest.mark.skipif(os.name != "posix", reason="needs a POSIX shell")
def test_two_windows_cannot_share_a_draft(pane: Pane, tmp_path: Path) -> None:
    session = Session(pane, tmp_path)
    session.launch()
    other = Pane(tmp_path)
    try:
        command = [sys.executable, "-m", "assistant.cli.main", "intake"]
        command += ["--rules", str(session.book), "--journal", str(session.draft)]
        command += ["--out", str(tmp_path / "other.yaml")]
        other.start(command, {"PYTHONPATH": str(PROJECT), "TERM": "screen"})
        assert "draft-in-use" in other.ended()
    finally:
        other.close()
