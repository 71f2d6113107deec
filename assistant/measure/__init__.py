"""What a client's record tells: weight trend, measured maintenance, lifts, girths, habits.

Everything is a pure function of the record, a day and settings from the rule book, and comes with
an interval or with the day from which it can be told.
"""

from assistant.measure.agreed import agreement_of
from assistant.measure.findings import Findings, measure
from assistant.measure.settings import Person, Settings

__all__ = ["Findings", "Person", "Settings", "agreement_of", "measure"]
