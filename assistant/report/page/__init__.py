"""Pages to print and to send: a plan, a log sheet, cards of exercises; each a file of its own."""
