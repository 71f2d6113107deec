"""Which pages a client has; what makes them is imported when it is asked for."""

from assistant.web.visit import CLIENTS, Page


def _page(path: str, make: str) -> Page:
    return Page(path, f"client.{make}", CLIENTS)


def _form(path: str, make: str) -> Page:
    return Page(path, f"client.{make}", CLIENTS, posts=True)


PAGES: tuple[Page, ...] = (
    _page("/me", "home:home"),
    _form("/me/begin", "intake:begin"),
    _page("/me/ask", "intake:ask"),
    _form("/me/ask", "intake:answer"),
    _page("/me/answers", "intake:answers"),
    _form("/me/answers", "intake:edit"),
    _page("/me/last", "intake:last"),
    _form("/me/last", "intake:finish"),
    _form("/me/safe", "intake:safe"),
    _form("/me/sets", "training:sets"),
    _form("/me/session", "training:session_done"),
    _form("/me/swap", "training:swap"),
    _page("/me/plan", "reading:plan"),
    _page("/me/food", "reading:food"),
    _page("/me/people", "reading:people"),
    _form("/me/went", "rounds:went"),
    _page("/me/why", "reading:why"),
    _page("/me/checkin", "rounds:checkin"),
    _form("/me/checkin", "rounds:begin"),
    _form("/me/hurts", "rounds:hurts"),
    _page("/me/round", "rounds:ask"),
    _form("/me/round", "rounds:answer"),
    _form("/me/round/edit", "rounds:edit"),
    _form("/me/round/end", "rounds:end"),
    _page("/me/changed", "rounds:changed"),
    _page("/me/data", "data:data"),
    _form("/me/data", "rounds:change"),
    _page("/me/data/notes.json", "data:everything"),
    _page("/me/data/notes-case.json", "data:case"),
    _form("/me/data/delete", "data:delete"),
    _page("/me/calendar.ics", "data:calendar"),
)
