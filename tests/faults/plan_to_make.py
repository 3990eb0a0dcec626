"""Makes an invented company in an empty database and asks for a plan of a minute's search."""

import django


def main() -> None:
    """Write the rows and the due work."""
    django.setup()
    from tests.dispatch.plan_rows import a_company, ask  # noqa: PLC0415 - Django comes first
    from tests.factories import AccountFactory  # noqa: PLC0415

    ask(a_company(AccountFactory()), iterations=None, search_s=60)


if __name__ == "__main__":
    main()
