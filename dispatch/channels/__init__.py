"""The ways out of the house; a channel is one file with one function, `send`."""
