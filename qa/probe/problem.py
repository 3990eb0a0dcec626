"""Why a file cannot serve as evidence."""


class FileProblem(Exception):  # noqa: N818 - a finding about a file, not a fault of ours
    """A problem in words for the person who sent the file, with the facts found before it."""

    def __init__(self, words: str, facts: dict[str, object] | None = None) -> None:
        super().__init__(words)
        self.facts: dict[str, object] = facts or {}
