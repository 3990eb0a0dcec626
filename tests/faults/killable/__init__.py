"""An app only for fault tests: handlers that leave a mark, run by processes that get killed."""
