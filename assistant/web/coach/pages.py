"""Which pages a coach has; what makes them is imported when it is asked for."""

from assistant.web.visit import COACHES, Page

PAGES: tuple[Page, ...] = (Page("/desk", "coach.desk:desk", COACHES),)
