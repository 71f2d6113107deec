"""A PostgreSQL server of a test's own, from Debian's package; tests that need it skip without."""

import contextlib
import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

BIN = next(iter(sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)), None)
USER = "postgres"


@contextlib.contextmanager
def running() -> Iterator[str]:
    """Run a server; give the address of its first database."""
    if BIN is None or not (BIN / "initdb").exists():
        pytest.skip("PostgreSQL is not installed (Debian: apt install postgresql)")
    pytest.importorskip("psycopg", reason="the driver psycopg is not installed")
    if os.geteuid() == 0 and (shutil.which("setpriv") is None or not _has_user()):
        pytest.skip("PostgreSQL does not run as root, and there is no user to run it as")
    folder = Path(tempfile.mkdtemp(prefix="whyplan-pg-"))
    folder.chmod(0o777)
    data, log = folder / "data", folder / "log"
    made = [str(BIN / "initdb"), "-D", str(data), "-A", "trust", "-U", "coach", "-E", "UTF8"]
    subprocess.run(_as_user(made), check=True, capture_output=True)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    control = [str(BIN / "pg_ctl"), "-D", str(data), "-l", str(log)]
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder}"
    start = _as_user([*control, "-w", "-o", options, "start"])
    subprocess.run(start, check=True, capture_output=True)
    try:
        yield f"postgresql://coach@127.0.0.1:{port}/postgres"
    finally:
        stop = _as_user([*control, "-m", "immediate", "stop"])
        subprocess.run(stop, check=False, capture_output=True)
        shutil.rmtree(folder, ignore_errors=True)


def new_database(server: str, test: str) -> str:
    """Make a database for a test; return its address."""
    psycopg = pytest.importorskip("psycopg")
    name = f"test_{abs(hash(test)) % 10**8}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return server.rpartition("/")[0] + "/" + name


def _as_user(words: list[str]) -> list[str]:
    """PostgreSQL refuses to run as root."""
    return ["setpriv", "--reuid", USER, "--regid", USER, "--clear-groups", *words] if (
        os.geteuid() == 0
    ) else words  # fmt: skip


def _has_user() -> bool:
    import pwd  # noqa: PLC0415 - POSIX only

    try:
        pwd.getpwnam(USER)
    except KeyError:
        return False
    return True
