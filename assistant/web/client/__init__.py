"""A client's own pages: questions, today, check-in, data."""
