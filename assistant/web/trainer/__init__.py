"""The head trainer's pages: rule book, numbers, log."""
