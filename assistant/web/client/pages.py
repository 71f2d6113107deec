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
)
