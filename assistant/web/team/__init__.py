"""A team on one server: accounts, links of clients, and who looked at whose record."""
