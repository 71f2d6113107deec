"""`whyplan serve`: the same house in a browser, on this machine."""

import argparse
import datetime as dt
import socket
import sys
import threading
import time
import webbrowser
from pathlib import Path

import platformdirs

from assistant.cli.common import parse_day
from assistant.cli.options import DB, RULES, file, option, switch
from assistant.intake.quantities import UnitSystem
from assistant.model.errors import InputProblems, Problem
from assistant.web.serving import Serving
from assistant.web.sessions import Role, Sessions

USUAL_PORT = 8710
LOOPBACK = "127.0.0.1"
MOST_CONNECTIONS = 200

OPTIONS = (
    switch("--self", "one client at home, with a record of their own", dest="alone"),
    option(
        "--port", "where it listens; 0 for any free one", type=int, default=USUAL_PORT, metavar="N"
    ),
    switch("--no-browser", "print the link only"),
    option("--language", "of a client's pages, e.g. de", default="en", metavar="CODE"),
    switch("--imperial", "pounds and inches"),
    option("--name", "who you are; written beside what you change", default="", metavar="WHO"),
    file("--folder", "where drafts and the PIN are kept (default: your data folder)", "DIR"),
    DB,
    option("--as-of", "day that counts as today", metavar="DATE"),
    RULES,
    file("--house", "your own settings; the first number you set makes the file"),
    file("--log", "the decision log that a head trainer may look at"),
)


def run(args: argparse.Namespace) -> int:
    """Serve until it is stopped. Raises InputProblems."""
    import uvicorn  # noqa: PLC0415 - only a server needs it

    from assistant.web.app import create_app  # noqa: PLC0415

    listening = _listening(args.port)
    serving = serving_of(args, listening.getsockname()[1])
    serving.desk().kb  # noqa: B018 - a broken book is told here, not on every page
    sessions = Sessions(serving.seconds)
    app = create_app(serving, sessions)
    role = Role.CLIENT if serving.alone else Role.TRAINER
    link = f"http://{serving.host}:{serving.port}/start?key={sessions.link(role, name=args.name)}"
    print(f"Open this link once, within ten minutes:\n{link}\nStop with Ctrl-C.", flush=True)
    if not args.no_browser:
        threading.Timer(0.3, webbrowser.open, [link]).start()
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=15,
        h11_max_incomplete_event_size=16 * 1024,
    )
    server = uvicorn.Server(config)
    server.run(sockets=[listening])
    return 0 if server.started else 1


def serving_of(args: argparse.Namespace, port: int) -> Serving:
    """Return the settings that the options name. Raises InputProblems."""
    on = parse_day(args.as_of) if args.as_of else None
    folder: Path = args.folder or platformdirs.user_data_path("whyplan") / (
        "self" if args.alone else "desk"
    )
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        text = f"the folder cannot be made ({error.strerror}); choose another --folder"
        raise InputProblems([Problem(str(folder), "no-folder", text)]) from error
    own = str(folder / "records.sqlite3") if args.alone else None
    return Serving(
        today=lambda: on or dt.datetime.now(tz=dt.UTC).astimezone().date(),
        seconds=time.monotonic,
        folder=folder,
        hosts=frozenset({f"{LOOPBACK}:{port}", f"localhost:{port}"}),
        host=LOOPBACK,
        port=port,
        alone=args.alone,
        language=args.language,
        units=UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC,
        db=args.db or own,
        rules=args.rules,
        house=args.house,
        log=args.log,
    )


def _listening(port: int) -> socket.socket:
    """Return a socket on this machine alone. Raises InputProblems where the port is taken."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform != "win32":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
    except (OSError, OverflowError) as error:
        listening.close()
        text = f"port {port} cannot be used ({error}); choose another --port, or 0 for any free one"
        raise InputProblems([Problem("--port", "bad-port", text)]) from error
    listening.listen()
    return listening
