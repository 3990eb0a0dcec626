"""The calculations as anybody may ask for them: what each takes, what it answers, by name."""
