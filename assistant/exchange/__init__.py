"""Answers and measures in the forms other programs read: FHIR R4, CSV, JSON."""
