"""The decision log: append-only, tamper-evident, replayable."""
