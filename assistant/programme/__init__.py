"""The weekly programme: which exercises on which days, how many sets, in what order, and why."""
