"""`whyplan serve --team` and `whyplan team`: what is refused, what is printed, and a real server over TLS."""

import argparse
import datetime as dt
import shutil
import ssl
import subprocess
import threading
import urllib.error
import urllib.request
from pathlib import Path

import pytest
import uvicorn

from assistant.cli.main import main
from assistant.cli.registry import build_parser
from assistant.cli.serve import serving_of
from assistant.cli.serve_reach import check, is_loopback, listening, listening_for, reach_of
from assistant.model.errors import InputProblems
from assistant.records.store import open_records
from assistant.records.team import account_of
from assistant.web.app import create_app
from assistant.web.team.passwords import is_right

DB = ["--db", "postgresql://coach@127.0.0.1/whyplan"]


def options(*words: str) -> argparse.Namespace:
    return build_parser().parse_args(["serve", *words])


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for localhost that signed itself."""
    if shutil.which("openssl") is None:
        pytest.skip("openssl is not installed")
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    words = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
             "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost",
             "-keyout", str(key), "-out", str(cert)]  # fmt: skip
    subprocess.run(words, check=True, capture_output=True)
    return cert, key


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--host", "0.0.0.0"], "only-team"),
        (["--behind-proxy", "plans.example.org"], "only-team"),
        (["--tls-cert", "a", "--tls-key", "b"], "only-team"),
        (["--team", "--self", *DB], "one-or-team"),
        (["--team"], "no-postgresql"),
        (["--team", "--db", "records.sqlite3"], "no-postgresql"),
        (["--team", *DB, "--host", "0.0.0.0"], "in-the-clear"),
        (["--team", *DB, "--host", "::"], "in-the-clear"),
        (["--team", *DB, "--host", "192.168.0.7"], "in-the-clear"),
        (["--team", *DB, "--host", "plans.example.org"], "in-the-clear"),
        (["--team", *DB, "--tls-cert", "a"], "half-tls"),
        (["--team", *DB, "--tls-key", "a"], "half-tls"),
        (["--team", *DB, "--tls-cert", "a", "--tls-key", "b", "--behind-proxy", "x.org"], "twice-tls"),
        (["--team", *DB, "--tls-cert", "a", "--tls-key", "b", "--host", "0.0.0.0"], "no-name"),
        (["--team", *DB, "--tls-cert", "a", "--tls-key", "b"], "bad-certificate"),
    ],
)  # fmt: skip
def test_what_would_not_be_safe_is_refused_in_one_line(
    words: list[str], code: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["serve", "--no-browser", "--folder", str(tmp_path), "--port", "0", *words]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert code in told


@pytest.mark.parametrize(
    ("words", "hosts", "secure"),
    [
        (["--team", *DB], {"127.0.0.1:99", "localhost:99"}, False),
        (["--team", *DB, "--behind-proxy", "Plans.example.org"], {"plans.example.org"}, True),
        (["--team", *DB, "--behind-proxy", "plans.example.org:8443", "--host", "0.0.0.0"],
         {"plans.example.org:8443"}, True),
    ],
)  # fmt: skip
def test_names_a_server_answers_to(words: list[str], hosts: set[str], secure: bool) -> None:
    args = options(*words)
    check(args)
    reach = reach_of(args, 99)
    assert (reach.hosts, reach.is_secure) == (hosts, secure)


@pytest.mark.parametrize("name", ["http://x.org", "x org", "", "x.org/", "-", "x.org:123456"])
def test_a_name_is_a_name(name: str) -> None:
    args = options("--team", *DB, "--behind-proxy", name)
    with pytest.raises(InputProblems, match="bad-name"):
        reach_of(args, 99)


def test_loopback_is_this_machine() -> None:
    near = ("127.0.0.1", "127.8.8.8", "::1", "localhost")
    far = ("0.0.0.0", "::", "10.0.0.1", "plans.example.org", "127.0.0.1.example.org", "")
    assert [is_loopback(host) for host in (*near, *far)] == [True] * len(near) + [False] * len(far)
    with pytest.raises(InputProblems, match="bad-host"):
        listening("no such host.invalid", 0)


def test_a_usual_port_in_use_gives_way_on_one_machine_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    taken = listening("127.0.0.1", 0)
    number = taken.getsockname()[1]
    monkeypatch.setattr("assistant.cli.serve_reach.USUAL_PORT", number)
    other = listening_for(options())
    assert other.getsockname()[1] != number
    for words in (["--port", str(number)], ["--team", *DB]):
        with pytest.raises(InputProblems, match="bad-port"):
            listening_for(options(*words))
    taken.close()
    other.close()


def test_over_tls_by_the_name_of_the_certificate_alone(
    certificate: tuple[Path, Path], tmp_path: Path
) -> None:
    cert, key = certificate
    tls = ["--tls-cert", str(cert), "--tls-key", str(key), "--server-name", "localhost"]
    args = options("--team", *DB, "--folder", str(tmp_path), *tls)
    check(args)
    probe = listening("127.0.0.1", 0)
    number = probe.getsockname()[1]
    probe.close()
    reach = reach_of(args, number)
    assert (reach.hosts, reach.is_secure) == ({f"localhost:{number}"}, True)
    args.db = str(tmp_path / "records.sqlite3")  # a file stands in for the server
    made = listening("127.0.0.1", number)
    config = uvicorn.Config(
        create_app(serving_of(args, reach, number)), log_level="error", access_log=False,
        proxy_headers=False, ssl_certfile=cert, ssl_keyfile=key,
    )  # fmt: skip
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [made]})
    thread.start()
    try:
        while not server.started:
            assert thread.is_alive()
            thread.join(0.02)
        trusted = ssl.create_default_context(cafile=str(cert))
        with urllib.request.urlopen(f"https://localhost:{number}/closed", context=trusted) as page:
            assert page.headers["strict-transport-security"]
            assert "/signin" in page.read().decode()
        trusted.check_hostname = False
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(f"https://127.0.0.1:{number}/closed", context=trusted)
        assert refused.value.code == 421
        refused.value.close()
    finally:
        server.should_exit = True
        thread.join(30)
        made.close()


def test_accounts_at_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    db = str(tmp_path / "records.sqlite3")

    def team(*words: str) -> tuple[int, str]:
        code = main(["team", *words, "--db", db, "--as-of", "2026-01-12"])
        printed = capsys.readouterr()
        return code, printed.out + printed.err

    assert "Nobody may sign in yet" in team("list")[1]
    code, told = team("add", "Robin Vale", "--role", "coach", "--print-password")
    assert code == 0
    password = told.rpartition(": ")[2].strip()
    assert kept_of(db, "Robin Vale", password)
    assert password not in team("list")[1]
    assert "name-taken" in team("add", "robin vale", "--role", "coach", "--print-password")[1]
    assert "no-terminal" in team("password", "Robin Vale")[1]
    assert "no-account" in team("password", "Nobody", "--print-password")[1]
    assert "unknown-role" in team("add", "Sam", "--role", "client", "--print-password")[1]
    monkeypatch.setattr("getpass.getpass", lambda _: "a barbell on a rainy day")
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    assert team("password", "Robin Vale")[0] == 0
    assert not kept_of(db, "Robin Vale", password)
    assert kept_of(db, "Robin Vale", "a barbell on a rainy day")
    monkeypatch.setattr("getpass.getpass", lambda _: "short")
    assert "bad-password" in team("password", "Robin Vale")[1]
    assert team("remove", "Robin Vale")[0] == 0
    assert "Nobody may sign in yet" in team("list")[1]


def kept_of(db: str, name: str, password: str) -> bool:
    with open_records(db, dt.date(2026, 1, 12)) as records:
        account = account_of(records, name)
        assert account is not None
        assert password not in account.password
        return is_right(account.password, password)


def test_without_the_package_it_is_said_how(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    from assistant.web.team import passwords  # noqa: PLC0415

    passwords._hasher.cache_clear()
    passwords._nobody.cache_clear()
    monkeypatch.setitem(__import__("sys").modules, "argon2", None)
    words = ["team", "add", "Robin Vale", "--role", "coach", "--print-password"]
    assert main([*words, "--db", str(tmp_path / "r.sqlite3")]) == 2
    assert "pip install 'whyplan[team]'" in capsys.readouterr().err
