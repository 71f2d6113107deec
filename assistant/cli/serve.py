"""`whyplan serve`: the same house in a browser, on this machine or for a team."""

import argparse
import sys
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path

from assistant.cli import serve_reach
from assistant.cli.common import parse_day, say_next, today
from assistant.cli.serve_reach import Reach
from assistant.intake.quantities import UnitSystem
from assistant.model.errors import InputProblems, Problem
from assistant.model.places import RECORD, served_folder
from assistant.web.serving import Serving
from assistant.web.sessions import Role, Sessions
from assistant.web.team.passwords import made_ready

MOST_CONNECTIONS = 200
SECONDS_BEFORE_THE_REST = 0.5


def run(args: argparse.Namespace) -> int:
    """Serve until it is stopped. Raises InputProblems."""
    import uvicorn

    from assistant.web.app import create_app

    serve_reach.check(args)
    listening = serve_reach.listening_for(args)
    reach = serve_reach.reach_of(args, listening.getsockname()[1])
    serving = serving_of(args, reach, listening.getsockname()[1])
    serving.kb_in(serving.language)  # a broken book is told here, not on every page
    sessions = Sessions(serving.seconds)
    app = create_app(serving, sessions)
    if serving.team:
        _say_team(serving)
    else:
        role = Role.CLIENT if serving.alone else Role.TRAINER
        link = f"{min(serving.origins)}/start?key={sessions.link(role, name=args.name)}"
        print(f"Open this link once, within ten minutes:\n{link}\nStop with Ctrl-C.", flush=True)
        if not args.no_browser:
            threading.Timer(0.3, webbrowser.open, [link]).start()
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        # Who really asks is told by the guard, and only where a proxy was declared.
        proxy_headers=False,
        ssl_certfile=reach.cert,
        ssl_keyfile=reach.key,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=15,
        h11_max_incomplete_event_size=16 * 1024,
    )
    server = uvicorn.Server(config)
    threading.Timer(SECONDS_BEFORE_THE_REST, _make_ready, [serving, app.state.opening]).start()
    server.run(sockets=[listening])
    return 0 if server.started else 1


def _make_ready(serving: Serving, opening: Callable[[], object]) -> None:
    """Import and open behind the first page what the next one needs; say what is wrong with the record."""
    try:
        opening()
        serving.desk().planner  # noqa: B018 - made once, for every page
    except InputProblems as problems:
        for problem in problems.problems:
            print(problem, file=sys.stderr, flush=True)


def _say_team(serving: Serving) -> None:
    """Say where a team signs in; open the record once, so that what is wrong with it is told here."""
    from assistant.records.team import accounts

    made_ready()
    with serving.desk().opened() as records:
        anybody, shown = bool(accounts(records)), records.place.shown
    print(f"A team signs in at {min(serving.origins)}\nStop with Ctrl-C.", flush=True)
    if not anybody:
        print("Nobody may sign in yet.", flush=True)
        say_next(["team", "add", "NAME", "--role", "trainer"], db=shown)


def serving_of(args: argparse.Namespace, reach: Reach, port: int) -> Serving:
    """Return the settings that the options name. Raises InputProblems."""
    on = parse_day(args.as_of) if args.as_of else None
    folder: Path = args.folder or served_folder(alone=args.alone)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        text = f"the folder cannot be made ({error.strerror}); choose another --folder"
        raise InputProblems([Problem(str(folder), "no-folder", text)]) from error
    own = str(folder / RECORD) if args.alone else None
    return Serving(
        today=lambda: on or today(),
        seconds=time.monotonic,
        folder=folder,
        hosts=reach.hosts,
        host=reach.host,
        port=port,
        alone=args.alone,
        language=args.language,
        units=UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC,
        db=args.db or own,
        rules=args.rules,
        house=args.house,
        log=args.log,
        is_secure=reach.is_secure,
        team=args.team,
        behind_proxy=reach.behind_proxy,
    )
