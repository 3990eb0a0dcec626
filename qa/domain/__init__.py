"""Pure decisions about proof: no Django, no clock, no I/O."""
