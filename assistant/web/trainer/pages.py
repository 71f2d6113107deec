"""Which pages a head trainer has; what makes them is imported when it is asked for."""

from assistant.web.visit import TRAINERS, Page

PAGES: tuple[Page, ...] = (
    Page("/book", "trainer.book:search", TRAINERS, about_nobody=True),
    Page("/book/rule/{id}", "trainer.book:rule", TRAINERS),
    Page("/book/number/{id}", "trainer.numbers:number", TRAINERS, about_nobody=True),
    Page("/book/number/{id}", "trainer.numbers:propose", TRAINERS, posts=True, about_nobody=True),
    Page("/book/moves", "trainer.numbers:moves", TRAINERS),
    Page("/book/moves", "trainer.numbers:keep", TRAINERS, posts=True),
    Page("/book/check", "trainer.check:findings", TRAINERS, about_nobody=True),
    Page("/book/check", "trainer.check:run", TRAINERS, posts=True, about_nobody=True),
    Page("/log", "trainer.log:entries", TRAINERS, about_nobody=True),
    Page("/log/{number}", "trainer.log:entry", TRAINERS),
    Page("/log/{number}", "trainer.log:again", TRAINERS, posts=True),
)
