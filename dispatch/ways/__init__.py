"""Who tells the ways between places: entered ways, a service over HTTP, its kept answers."""
