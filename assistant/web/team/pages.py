"""Which pages a team has beside the others; a server for one machine serves none of them."""

from assistant.web.visit import CLIENTS, COACHES, EVERYBODY, TRAINERS, Page

PAGES: tuple[Page, ...] = (
    Page("/signin", "team.signing:form", EVERYBODY),
    Page("/signin", "team.signing:sign_in", EVERYBODY, posts=True),
    Page("/link", "team.links:arrive", EVERYBODY),
    Page("/link", "team.links:follow", EVERYBODY, posts=True),
    Page("/desk/c/{client}/link", "team.links:link", COACHES),
    Page("/desk/c/{client}/link", "team.links:change", COACHES, posts=True),
    Page("/desk/c/{client}/trail", "team.trail:of_client", TRAINERS),
    Page("/trail", "team.trail:of_everybody", TRAINERS, about_nobody=True),
    Page("/me/trail", "team.trail:my_own", CLIENTS),
)
