"""Pure numbers: energy, body composition, food, strength, doses and dates.

Every function takes plain numbers with the unit in the name and gives a number or an
:class:`~assistant.calculate.estimate.Estimate`. Coefficients of published equations live here,
with their source. Every threshold a coach could argue with is an argument, because it belongs to
the rule base.
"""
