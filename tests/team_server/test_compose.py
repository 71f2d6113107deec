"""The files that put a team's server into containers: read, and their command tried, since no engine is here.

Outside sources: the Compose specification (services, secrets, networks, `$$` for a dollar sign), CIS Docker
Benchmark (no root, no added privileges, read-only root, secrets not in the environment); from memory.
"""

import argparse
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
import yaml

from assistant.cli import serve_reach
from assistant.cli.options import add_options
from assistant.cli.serve import OPTIONS

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


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
    lines = (HERE / "Dockerfile").read_text("utf-8").splitlines()
    users = [line.split()[1] for line in lines if line.startswith("USER ")]
    assert users == ["whyplan"]
    assert lines.index("USER whyplan") > max(n for n, x in enumerate(lines) if x.startswith("RUN"))


def test_images_are_of_a_named_version(compose: dict[str, Any]) -> None:
    base = re.findall(r"^FROM (\S+)$", (HERE / "Dockerfile").read_text("utf-8"), re.MULTILINE)
    for image in [*base, compose["services"]["db"]["image"]]:
        assert re.fullmatch(r"[a-z]+:\d+(\.\d+)+(-slim)?", image), image


def test_what_is_copied_is_there(compose: dict[str, Any]) -> None:
    build = compose["services"]["app"]["build"]
    assert (HERE / build["context"]).resolve() == ROOT
    assert (ROOT / build["dockerfile"]) == HERE / "Dockerfile"
    copied = re.findall(r"^COPY (.+) \S+$", (HERE / "Dockerfile").read_text("utf-8"), re.MULTILINE)
    names = [name for line in copied for name in line.split()]
    assert {"pyproject.toml", "README.md", "assistant", "rules"} == set(names)
    assert all((ROOT / name).exists() for name in names)


def test_the_command_is_one_that_the_program_takes(
    compose: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    shell, flag, line = compose["services"]["app"]["command"]
    assert (shell, flag) == ("sh", "-c")
    line = re.sub(r"\$\{WHYPLAN_NAME:\?[^}]*\}", "plans.example.org", line).replace("$$", "$")
    words = shlex.split(line)
    assert words[:4] == ["PGPASSWORD=$(cat /run/secrets/db_password)", "exec", "whyplan", "serve"]
    parser = argparse.ArgumentParser()
    add_options(parser, OPTIONS)
    args = parser.parse_args(words[4:])
    # The certificate itself is put beside the file by whoever runs it.
    monkeypatch.setattr(serve_reach, "_check_certificate", lambda *_: None)
    serve_reach.check(args)
    reach = serve_reach.reach_of(args, args.port)
    assert reach.hosts == {"plans.example.org", "plans.example.org:443"}
    assert reach.is_secure
    (port,) = compose["services"]["app"]["ports"]
    assert port == f"443:{args.port}"
    secrets = {f"/run/secrets/{name}" for name in compose["services"]["app"]["secrets"]}
    assert {str(args.tls_cert), str(args.tls_key)} <= secrets
