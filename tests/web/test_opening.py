"""What is made ready behind the first page, and what is held between pages."""

import subprocess
import sys
from collections.abc import Callable

from test_attacks import with_clients
from web_support import House

from assistant.clients import desk as desk_module
from assistant.records.store import open_records

Make = Callable[..., House]


def test_the_first_page_imports_no_solver_engine_or_database() -> None:
    """Counted in a process of its own: what a server imports before anybody has opened the link."""
    code = (
        "import sys, assistant.cli.serve, assistant.web.app, uvicorn\n"
        "heavy = ('ortools', 'numpy', 'sqlalchemy', 'clips', 'durable', 'assistant.programme', 'assistant.records')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_who_stands_is_worked_out_once_until_something_is_written(house: Make) -> None:
    place = house()
    with_clients(place, "four_days")
    desk = place.serving.desk()
    with open_records(str(place.record), place.clock.today) as records:
        first = desk.standing(records, "client-number0")
        assert desk.standing(records, "client-number0") is first
        assert first.run() is first.run()
        from assistant.clients.kept import Why  # noqa: PLC0415

        desk.add_version(records, "client-number0", Why("measures"))
        later = desk.standing(records, "client-number0")
        assert later is not first
        assert len(later.versions) == len(first.versions) + 1


def test_nobody_forgotten_is_held(house: Make) -> None:
    place = house()
    (token,) = with_clients(place, "four_days")
    desk = place.serving.desk()
    with open_records(str(place.record), place.clock.today) as records:
        desk.standing(records, "client-number0")
        assert any(token in key for key in desk_module._standing)
        desk.forget(records, records.client("client-number0"))
    assert not any(token in key for key in desk_module._standing)
