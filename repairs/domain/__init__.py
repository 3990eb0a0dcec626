"""Pure calculations and decisions about a repair: no Django, no clock, no I/O."""
