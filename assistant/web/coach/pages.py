"""Which pages a coach has; what makes them is imported when it is asked for."""

from assistant.web.visit import COACHES, Page

_C = "/desk/c/{client}"

PAGES: tuple[Page, ...] = (
    Page("/desk", "coach.desk:desk", COACHES),
    Page("/desk", "coach.desk:seek", COACHES, posts=True),
    Page("/desk/add", "coach.adding:form", COACHES),
    Page("/desk/add", "coach.adding:add", COACHES, posts=True),
    Page(_C, "coach.client:overview", COACHES),
    Page(f"{_C}/plan", "coach.client:plan", COACHES),
    Page(f"{_C}/record", "coach.client:record", COACHES),
    Page(f"{_C}/versions", "coach.client:versions", COACHES),
    Page(f"{_C}/versions", "coach.client:between", COACHES, posts=True),
)
