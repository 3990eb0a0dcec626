"""What is repaired, and what happened in the pipe."""
