"""The files of rules/ that other rooms read as they stand: one model a file."""
