"""One check-in through the real screen, for tests that walk a client through weeks."""

import datetime as dt
import io
from pathlib import Path

from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output.plain_text import PlainTextOutput

from assistant.clients.checkin import CheckinSession
from assistant.clients.desk import Desk
from assistant.intake.dialogue import Ending
from assistant.intake.screen import Screen
from assistant.records.projection import last_word
from assistant.records.store import open_records

SUNDAY = dt.date(2026, 1, 18)


class Walk:
    """One check-in through the real screen, with typed keys, on a real record.

    alone_in: the language of a client who answers without a coach; None with one.
    """

    def __init__(self, record: Path, on: dt.date = SUNDAY, alone_in: str | None = None) -> None:
        self.record, self.on, self.alone_in = record, on, alone_in
        self.shown = ""

    def __call__(
        self, *lines: str, then: tuple[str, ...] | None = None, name: str = "ines-farrow"
    ) -> int:
        """Type these lines; `then` is typed in the round that follows, if one does."""
        self.desk = Desk(self.on, str(self.record))
        out = io.StringIO()
        with open_records(str(self.record), self.on) as records:
            alone = self.alone_in is not None
            kb = self.desk.kb_in(self.alone_in) if self.alone_in is not None else None
            client = records.client(name)
            session = CheckinSession(self.desk, records, client, alone=alone, kb=kb)
            self.facts = [slot.fact for slot in session.checkin.form.slots]
            self.greeting = session.greeting()
            self.dialogue = session.dialogue()
            self.code, self.ending = self._type(session, lines, out)
            more = session.follow_up()
            self.asked_at_once = [] if more is None else [s.fact for s in more.checkin.form.slots]
            if more is not None and then is not None:
                self.code, _ = self._type(more, then, out)
        self.shown = out.getvalue()
        return self.code

    def _type(
        self, session: CheckinSession, lines: tuple[str, ...], out: io.StringIO
    ) -> tuple[int, Ending]:
        with create_pipe_input() as pipe:
            pipe.send_text("".join(line + "\r" for line in lines) + "\x03")
            screen = Screen(session.remember, pipe, PlainTextOutput(out))
            last, ending = screen.run(session.dialogue())
        done = session.ended(last, ending)
        if done.version is not None:
            out.write(f"version {done.version.number}, {done.version.digest['level']}\n")
        return int(done.aside), ending

    def lines(self) -> list[tuple[str, str, str, float | None]]:
        with open_records(str(self.record), self.on) as records:
            history = records.history(records.client("ines-farrow"), kinds=["entry"])
        return [
            (e.measure, e.detail, e.day.isoformat(), e.value) for e in last_word(history).values()
        ]
