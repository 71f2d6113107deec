"""Values as outside texts print them, and what this package makes of each."""
