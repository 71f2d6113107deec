"""Plans, explanations and notes as text and JSON."""
