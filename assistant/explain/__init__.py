"""Why a plan says what it says: walks from any line or fact down to answers and sources."""
