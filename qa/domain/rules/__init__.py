"""One rule a requirement: a function from the facts to a verdict; one subject a file."""
