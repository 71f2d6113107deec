"""Which pages a client has; what makes them is imported when it is asked for."""

from assistant.web.visit import CLIENTS, Page

PAGES: tuple[Page, ...] = (Page("/me", "client.home:home", CLIENTS),)
