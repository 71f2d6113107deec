"""Where a server listens and by which names it answers; beyond this machine only a team's, and only over TLS."""

import argparse
import ipaddress
import re
import socket
import ssl
import sys
from dataclasses import dataclass
from pathlib import Path

from assistant.cli.options import LOOPBACK, USUAL_PORT
from assistant.model.errors import InputProblems, Problem

_HTTPS = 443
_NAME = re.compile(r"[a-z0-9]([a-z0-9.-]*[a-z0-9])?(:[0-9]{1,5})?", re.IGNORECASE)


@dataclass(frozen=True)
class Reach:
    """Who can reach a server. hosts: as they stand in a request's Host header. cert, key: None without TLS."""

    host: str
    hosts: frozenset[str]
    is_secure: bool = False
    behind_proxy: bool = False
    cert: Path | None = None
    key: Path | None = None


def reach_of(args: argparse.Namespace, port: int) -> Reach:
    """Return what the options name for the port that was got. Raises InputProblems."""
    near = is_loopback(args.host)
    if args.behind_proxy is not None:
        hosts = frozenset({_checked_name("--behind-proxy", args.behind_proxy)})
        return Reach(args.host, hosts, is_secure=True, behind_proxy=True)
    if args.tls_cert is not None:
        name, _, public = _checked_name("--server-name", args.server_name or args.host).partition(
            ":"
        )
        seen = int(public or port)
        named = {f"{name}:{seen}", *({name} if seen == _HTTPS else ())}
        return Reach(
            args.host, frozenset(named), is_secure=True, cert=args.tls_cert, key=args.tls_key
        )
    assert near  # `check` let nothing else through
    names = (args.host, "localhost")
    return Reach(args.host, frozenset(f"{_bracketed(name)}:{port}" for name in names))


def check(args: argparse.Namespace) -> None:
    """Refuse what would serve a record in the clear, or to a team without accounts. Raises InputProblems."""
    if not args.team:
        _refuse_options_of_a_team(args)
        return
    if args.alone:
        _refuse("--self", "one-or-team", "one client at home or a team, not both; leave one out")
    if not (args.db or "").startswith(("postgresql://", "postgresql+psycopg://")):
        told = "a team's record is kept on PostgreSQL; name it: --db postgresql://user@host/name"
        _refuse("--db", "no-postgresql", told)
    tls = args.tls_cert is not None or args.tls_key is not None
    if tls:
        _check_tls(args)
    elif args.behind_proxy is None and not is_loopback(args.host):
        told = (
            f"`{args.host}` can be reached from other machines, so answers would travel in the clear; add "
            "--tls-cert and --tls-key, or --behind-proxy HOSTNAME"
        )
        _refuse("--host", "in-the-clear", told)


def _refuse_options_of_a_team(args: argparse.Namespace) -> None:
    for name, given in (
        ("--host", args.host != LOOPBACK),
        ("--tls-cert", args.tls_cert is not None),
        ("--tls-key", args.tls_key is not None),
        ("--server-name", args.server_name is not None),
        ("--behind-proxy", args.behind_proxy is not None),
    ):
        if given:
            told = "only a team's server has this; add --team, or leave it out"
            _refuse(name, "only-team", told)


def _check_tls(args: argparse.Namespace) -> None:
    if args.tls_cert is None or args.tls_key is None:
        told = "a certificate and its key go together: --tls-cert and --tls-key"
        _refuse("--tls-cert", "half-tls", told)
    if args.behind_proxy is not None:
        told = "either this server or your proxy does TLS; leave one out"
        _refuse("--behind-proxy", "twice-tls", told)
    if args.server_name is None and args.host in {"0.0.0.0", "::"}:  # noqa: S104 - looked for, not used
        told = "say which name the certificate is for: --server-name HOSTNAME"
        _refuse("--server-name", "no-name", told)
    _check_certificate(args.tls_cert, args.tls_key)


def is_loopback(host: str) -> bool:
    """Tell whether only this machine can reach an address."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def listening_for(args: argparse.Namespace) -> socket.socket:
    """Return a socket that listens where the options say. Raises InputProblems.

    On one machine the usual port gives way to a free one where something listens there already; a team's
    server is looked for at its port.
    """
    try:
        return listening(args.host, USUAL_PORT if args.port is None else args.port)
    except InputProblems:
        if args.port is not None or args.team:
            raise
        return listening(args.host, 0)


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens there. Raises InputProblems where it cannot."""
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        made = socket.socket(family, kind)
    except (OSError, OverflowError, UnicodeError) as error:
        told = f"`{host}` is no address to listen at ({error}); name one of this machine"
        raise InputProblems([Problem("--host", "bad-host", told)]) from error
    if sys.platform != "win32":
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind(address)
    except (OSError, OverflowError) as error:
        made.close()
        told = f"port {port} cannot be used ({error}); choose another --port, or 0 for any free one"
        raise InputProblems([Problem("--port", "bad-port", told)]) from error
    made.listen()
    return made


def _check_certificate(cert: Path, key: Path) -> None:
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key)
    except (OSError, ssl.SSLError) as error:
        told = f"certificate and key cannot be used ({error}); check both files"
        raise InputProblems([Problem("--tls-cert", "bad-certificate", told)]) from error


def _checked_name(option_: str, name: str) -> str:
    if not _NAME.fullmatch(name):
        _refuse(
            option_, "bad-name", f"`{name}` is no name of a host; write it like plans.example.org"
        )
    return name.lower()


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _refuse(option_: str, code: str, told: str) -> None:
    raise InputProblems([Problem(option_, code, told)])
