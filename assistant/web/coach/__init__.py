"""The coach's desk: who needs me first, and each client."""
