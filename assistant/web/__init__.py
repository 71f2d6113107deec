"""The same house in a browser: pages for a client, a coach and a head trainer, without a logic of their own."""
