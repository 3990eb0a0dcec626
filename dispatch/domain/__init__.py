"""Pure decisions about crews, time and gear: no Django, no clock, no I/O."""
