"""The check-in: what is measured and asked, lines as typed, and what is asked about twice."""
