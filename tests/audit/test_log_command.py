"""The log as a coach uses it, from the command line."""

import json
import re
from pathlib import Path

import pytest

from assistant.cli import logging_plans
from assistant.cli.main import main

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases/four_days.yaml")
HEAD = re.compile(r"Decision log (\d+:[0-9a-f]{32})")


@pytest.fixture
def log(tmp_path: Path) -> str:
    return str(tmp_path / "log.jsonl")


def run(capsys: pytest.CaptureFixture[str], *command: str) -> tuple[int, str, str]:
    code = main(command)
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def test_a_printed_head_shows_a_cut_tail(log: str, capsys: pytest.CaptureFixture[str]) -> None:
    heads = []
    for _ in range(3):
        _, out, err = run(capsys, "plan", "--no-week", CASE, "--log", log)
        heads.append(HEAD.search(out).group(1))  # type: ignore[union-attr]
        assert err == ""
    assert [head.partition(":")[0] for head in heads] == ["1", "2", "3"]
    for head in heads:
        assert run(capsys, "log", "verify", "--log", log, "--head", head)[0] == 0
    path = Path(log)
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:2]))
    assert run(capsys, "log", "verify", "--log", log)[0] == 0
    code, out, _ = run(capsys, "log", "verify", "--log", log, "--head", heads[2])
    assert code == 1
    assert "cut-tail: entry 3 was printed, but the log ends at 2" in out


def test_the_plan_is_the_same_with_and_without_a_log(
    log: str, capsys: pytest.CaptureFixture[str]
) -> None:
    _, without, _ = run(capsys, "plan", "--no-week", CASE)
    _, logged, _ = run(capsys, "plan", "--no-week", CASE, "--log", log)
    assert HEAD.sub("", logged).split() == without.split()


def test_the_clients_printable_page_carries_the_head(
    log: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "page.html"
    page = ["--format", "html", "--for", "client", "--out", str(out)]
    assert run(capsys, "plan", "--no-week", CASE, *page)[0] == 0
    without = out.read_text("utf-8")
    assert run(capsys, "plan", "--no-week", CASE, *page, "--log", log)[0] == 0
    logged = out.read_text("utf-8")
    assert "Decision log" not in without
    head = HEAD.search(logged)
    assert head is not None
    assert logged.replace(f"<p>{head[0]}</p>", "") == without
    assert run(capsys, "log", "verify", "--log", log, "--head", head[1])[0] == 0


@pytest.mark.slow
def test_the_sessions_are_logged_and_solved_again(
    log: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A week with wishes and a missed day: what was asked for beside the answers is kept."""
    case = str(ROOT / "cases/two_short_evenings.yaml")
    _, out, _ = run(capsys, "plan", case, "--log", log, "--missed", "tue")
    assert HEAD.search(out)
    _, out, _ = run(capsys, "log", "show", "1", "--log", log)
    assert "Sessions (seed 1)" in out
    assert run(capsys, "log", "replay", "--week", "--log", log)[0] == 0


@pytest.mark.parametrize("case", ["four_days", "refer_first", "stop_today"])
def test_the_clients_page_carries_sequence_and_hash_and_no_more(
    case: str, log: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(ROOT / "cases" / f"{case}.yaml")
    for form in ("text", "json"):
        _, without, _ = run(capsys, "plan", "--no-week", path, "--for", "client", "--format", form)
        _, logged, _ = run(
            capsys, "plan", "--no-week", path, "--for", "client", "--format", form, "--log", log
        )
        if form == "json":
            document = json.loads(logged)
            assert re.fullmatch(r"2:[0-9a-f]{32}", document.pop("log"))
            assert document == json.loads(without)
        else:
            added = set(logged.splitlines()) - set(without.splitlines())
            assert len(added) == 1
            assert HEAD.fullmatch(added.pop())


def test_the_usual_log_lies_in_the_users_own_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "data" / "whyplan"
    monkeypatch.setattr(logging_plans, "data_folder", lambda: home)
    assert run(capsys, "plan", "--no-week", CASE, "--log")[0] == 0
    assert {path.name for path in home.iterdir()} == {"decisions.jsonl", "decisions.jsonl.key"}
    assert run(capsys, "log", "verify")[0] == 0
    assert (
        run(capsys, "log", "list", "--name", "  ines FARROW ")[1].count("plan for the coach") == 1
    )
    assert run(capsys, "log", "list", "--name", "Somebody Else")[1].count("plan for") == 0


def test_after_a_yes_of_the_session_nothing_is_written(
    tmp_path: Path, log: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text = Path(CASE).read_text("utf-8")
    case = tmp_path / "case.yaml"
    no, yes = "screen.self_harm_thoughts: false", "screen.self_harm_thoughts: true"
    assert no in text
    case.write_text(text.partition("expect:")[0].replace(no, yes), "utf-8")
    code, out, err = run(capsys, "plan", "--no-week", str(case), "--log", log)
    assert code == 1
    assert "No plan today" in out
    assert "Decision log" not in out
    assert err.startswith("Not logged: ")
    assert list(tmp_path.iterdir()) == [case]


def test_a_log_that_cannot_be_written_means_no_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(
        capsys, "plan", "--no-week", CASE, "--log", str(tmp_path / "none" / "log.jsonl")
    )
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    other = tmp_path / "case.yaml"
    other.write_text("name: Ada\n", "utf-8")
    code, out, err = run(capsys, "plan", "--no-week", CASE, "--log", str(other))
    assert (code, out) == (2, "")
    assert "not-a-log" in err
    assert list(tmp_path.iterdir()) == [other]


def test_show_tells_what_a_decision_rests_on(log: str, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "plan", "--no-week", CASE, "--log", log)
    change = ["--line", "recovery.sleep", "--to", "7.5", "--by", "coach", "--reason", "a newborn"]
    code, out, _ = run(capsys, "log", "override", "1", "--log", log, *change)
    assert code == 0
    assert "decision 1, recovery.sleep 8 -> 7.5" in out
    assert re.search(r"Decision log 2:[0-9a-f]{32}", out)
    code, out, _ = run(capsys, "log", "show", "1", "--log", log)
    assert code == 0
    for words in (
        "client.weight_kg: 63.5",
        "protein.g_per_day: ",
        "food.target: ENE-",
        "2: recovery.sleep 8 -> 7.5, by coach: a newborn",
        "Changes by hand (1)",
    ):
        assert words in out
    assert max(map(len, out.splitlines())) <= 110
    _, out, _ = run(capsys, "log", "report", "--log", log)
    assert re.search(r"- SLP-\d+: 1 of 1 \(100 %\)", out)
    assert "recovery.sleep: a newborn: 1" in out


def test_show_leaves_withheld_figures_out(log: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The weights of this case are 56 kg now and 52 kg wished for; both are withheld."""
    run(capsys, "plan", "--no-week", str(ROOT / "cases/refer_first.yaml"), "--log", log)
    _, out, _ = run(capsys, "log", "show", "1", "--log", log)
    assert "client.weight_kg: withheld" in out
    assert "client.goal_weight_kg: withheld" in out
    assert "client.sleep_hours: 7" in out
    assert not re.search(r"\b(56|52)\b", out.partition("Conclusions")[0].partition("Answers")[2])


@pytest.mark.parametrize(
    "command",
    [["show", "7"], ["show", "0"], ["override", "9", "--line", "food.fat", "--to", "1", "--by", "a", "--reason", "b"],
     ["replay", "--only", "4"], ["verify", "--head", "x"], ["list", "--name", "Ada"]],
)  # fmt: skip
def test_bad_input_is_one_line_and_exit_two(
    command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.jsonl"
    log.write_bytes(
        (Path(__file__).parent / "past_log.jsonl").read_bytes().splitlines(keepends=True)[0]
    )
    code, out, err = run(capsys, "log", *command, "--log", str(log))
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert re.match(r"\S.*: [a-z-]+: ", err)


def test_a_damaged_log_is_not_read_as_if_it_were_whole(
    log: str, capsys: pytest.CaptureFixture[str]
) -> None:
    run(capsys, "plan", "--no-week", CASE, "--log", log)
    path = Path(log)
    path.write_bytes(
        path.read_bytes().replace(b'"client.weight_kg":63.5', b'"client.weight_kg":53.5')
    )
    for command in (["list"], ["show", "1"], ["replay"], ["report"]):
        code, _, err = run(capsys, "log", *command, "--log", log)
        assert code == 2
        assert "log.jsonl:1: changed-line" in err
    assert run(capsys, "log", "verify", "--log", log)[0] == 1
