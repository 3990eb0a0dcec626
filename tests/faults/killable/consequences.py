"""What a letter causes; known to the door that writes it and to the ledger that checks it."""

CONSEQUENCES = {"quick": 0.0, "slow": 0.0, "outside": 0.0, "timer": 1.5}
"""Each with how many seconds later it is due."""
