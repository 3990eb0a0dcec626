"""Is it true, and may it close."""
