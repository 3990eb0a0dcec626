"""Pure rules of due work: what a handler sees and says, and how long to back off."""
