"""Which pages a coach has; what makes them is imported when it is asked for."""

from assistant.web.visit import COACHES, Page

_C = "/desk/c/{client}"

PAGES: tuple[Page, ...] = (
    Page("/desk", "coach.desk:desk", COACHES),
    Page("/desk", "coach.desk:seek", COACHES, posts=True),
    Page("/desk/add", "coach.adding:form", COACHES),
    Page("/desk/add", "coach.adding:add", COACHES, posts=True),
    Page("/desk/new", "coach.intake:new", COACHES),
    Page("/desk/new", "coach.intake:begin", COACHES, posts=True),
    Page("/desk/new/{key}", "coach.intake:ask", COACHES),
    Page("/desk/new/{key}", "coach.intake:answer", COACHES, posts=True),
    Page("/desk/new/{key}/answers", "coach.intake:answers", COACHES),
    Page("/desk/new/{key}/answers", "coach.intake:edit", COACHES, posts=True),
    Page("/desk/new/{key}/last", "coach.intake:last", COACHES),
    Page("/desk/new/{key}/last", "coach.intake:finish", COACHES, posts=True),
    Page("/desk/new/{key}/drop", "coach.intake:drop", COACHES, posts=True),
    Page(_C, "coach.client:overview", COACHES),
    Page(f"{_C}/plan", "coach.client:plan", COACHES),
    Page(f"{_C}/record", "coach.client:record", COACHES),
    Page(f"{_C}/versions", "coach.client:versions", COACHES),
    Page(f"{_C}/versions", "coach.client:between", COACHES, posts=True),
    Page(f"{_C}/review", "coach.review:show", COACHES),
    Page(f"{_C}/review", "coach.review:decide", COACHES, posts=True),
    Page(f"{_C}/review/change", "coach.review:change", COACHES, posts=True),
    Page(f"{_C}/override", "coach.lines:show", COACHES),
    Page(f"{_C}/override", "coach.lines:change", COACHES, posts=True),
    Page(f"{_C}/override/withdraw", "coach.lines:withdraw", COACHES, posts=True),
    Page(f"{_C}/week", "coach.week:show", COACHES),
    Page(f"{_C}/week/price", "coach.week:price", COACHES, posts=True),
    Page(f"{_C}/week/keep", "coach.week:keep", COACHES, posts=True),
    Page(f"{_C}/week/{{day}}", "coach.week:more", COACHES),
    Page(f"{_C}/week/{{day}}/{{place}}", "coach.week:line", COACHES),
)
