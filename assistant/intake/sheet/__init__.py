"""A spreadsheet's file read as lines of a check-in, or explained line by line."""
