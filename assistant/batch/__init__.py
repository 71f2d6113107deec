"""Many cases at once: workers in processes of their own, a journal to go on from, a report at the end."""
