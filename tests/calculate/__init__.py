"""Checks of the pure numbers against published figures and open data."""
