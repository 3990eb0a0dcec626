"""Who may look at plans and who may change them, as at the API."""

from repairs.domain.roles import Role

READERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
PLANNERS = frozenset({Role.DISPATCHER})
