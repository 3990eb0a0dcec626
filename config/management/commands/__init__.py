"""Commands that start the service, its accounts and its demonstration."""
