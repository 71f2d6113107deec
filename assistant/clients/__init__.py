"""One client as they stand: answers, record and the current version of the plan."""
