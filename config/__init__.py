"""Wiring: settings, addresses, the web and worker entry points. No app imports it."""
