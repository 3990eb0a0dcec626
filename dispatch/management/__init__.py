"""Commands of dispatch."""
