"""Many people at once on one server: `python tests/web/load.py [SECONDS]` prints requests a second and times.

Fifty clients and five coaches, each with a session of their own, ask for pages one after the other as fast as
answers come, for some seconds, on a record of sixty invented clients with months of check-ins.
"""

import asyncio
import datetime as dt
import random
import statistics
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import httpx2 as httpx

sys.path[:0] = [str(Path(__file__).parents[1] / room) for room in ("", "records", "web")]

from invented_year import a_history  # noqa: E402
from test_attacks import with_clients  # noqa: E402
from web_support import House, free_port  # noqa: E402

from assistant.records.store import open_records  # noqa: E402
from assistant.web.sessions import Role, Session  # noqa: E402
from assistant.web.visit import cookie_name  # noqa: E402

CLIENTS, COACHES, IN_THE_RECORD = 50, 5, 60
FOR_CLIENTS = ("/me", "/me/food", "/me/people", "/me/plan", "/help", "/style.css")


async def person(
    base: str,
    cookie: tuple[str, str],
    paths: list[str],
    until: float,
    seed: int,
    took: list[tuple[str, float, int]],
) -> None:
    chance = random.Random(seed)
    async with httpx.AsyncClient(base_url=base, timeout=120, cookies=dict([cookie])) as visitor:
        while time.monotonic() < until:
            path = chance.choice(paths)
            began = time.monotonic()
            answer = await visitor.get(path)
            took.append(
                (
                    path if len(path) < 40 else "/desk/c/…",
                    time.monotonic() - began,
                    answer.status_code,
                )
            )


async def load(
    house: House, base: str, tokens: list[str], seconds: float
) -> list[tuple[str, float, int]]:
    took: list[tuple[str, float, int]] = []
    until = time.monotonic() + seconds
    people = []
    for number in range(CLIENTS + COACHES):
        role = Role.CLIENT if number < CLIENTS else Role.COACH
        client = tokens[number] if role is Role.CLIENT else ""
        cookie = (
            cookie_name(house.serving),
            house.sessions.open(Session(role, "Robin Vale", client)),
        )
        paths = (
            list(FOR_CLIENTS)
            if role is Role.CLIENT
            else ["/desk", *(f"/desk/c/{t}" for t in tokens[:10])]
        )
        people.append(person(base, cookie, paths, until, number, took))
    await asyncio.gather(*people)
    return took


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    with tempfile.TemporaryDirectory() as folder:
        house = House(Path(folder), port=free_port())
        names = (
            "four_days",
            "older_lifter",
            "two_short_evenings",
            "refer_first",
            "stop_today",
            "plus_size_strength",
        )
        known = [
            name
            for name in names
            if (Path(__file__).parents[2] / "cases" / f"{name}.yaml").exists()
        ]
        tokens = with_clients(house, *(known[n % len(known)] for n in range(IN_THE_RECORD)))
        chance, first = random.Random(3), house.clock.today - dt.timedelta(days=120)
        with open_records(str(house.record), house.clock.today) as records:
            for client in records.clients():
                records.append(client, a_history(chance, first, 110, 0.6))
        house.clock.seconds = time.monotonic()
        object.__setattr__(house.serving, "seconds", time.monotonic)
        with house.running() as base:
            took = asyncio.run(load(house, base, tokens, seconds))
    times = sorted(each for _, each, _ in took)
    print(
        f"{len(took)} pages in {seconds:.0f} s: {len(took) / seconds:.1f} a second; statuses {dict(Counter(s for *_, s in took))}"
    )
    print(
        f"median {statistics.median(times):.2f} s, 95th percentile {times[int(len(times) * 0.95)]:.2f} s, worst {times[-1]:.2f} s"
    )
    for path in sorted({path for path, *_ in took}):
        own = sorted(each for p, each, _ in took if p == path)
        print(
            f"  {path:<12} {len(own):>5} times, median {statistics.median(own):.2f} s, 95th {own[int(len(own) * 0.95)]:.2f} s"
        )


if __name__ == "__main__":
    main()
