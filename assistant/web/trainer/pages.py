"""Which pages a head trainer has; what makes them is imported when it is asked for."""

from assistant.web.visit import Page

PAGES: tuple[Page, ...] = ()
