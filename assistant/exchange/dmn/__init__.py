"""The book's decision tables in the Decision Model and Notation (DMN 1.3) of the Object Management Group."""
