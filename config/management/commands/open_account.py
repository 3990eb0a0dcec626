"""``manage.py open_account``: the first door key."""

import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.models import Customer
from repairs.services.accounts import open_account


class Command(BaseCommand):
    help = (
        "Opens an account: a dispatcher, a reviewer, a crew lead, a client (with --customer) ... "
        "The password is asked for, or read from --password-file; an account opened with "
        "--no-password can only come with a device token. Example: "
        "manage.py open_account dana dispatcher --name 'Dana Invented'"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username", help="the name to sign in with")
        parser.add_argument("role", choices=[role.value for role in Role], help="what it may do")
        parser.add_argument("--name", default="", help="the person's name, as reports print it")
        parser.add_argument("--customer", help="code of the customer, for a client")
        parser.add_argument("--password-file", help="read the password from this file")
        parser.add_argument("--no-password", action="store_true", help="device tokens only")

    def handle(self, *_args: Any, **options: Any) -> None:
        customer = None
        if options["customer"]:
            customer = Customer.objects.filter(code=options["customer"]).first()
            if customer is None:
                raise CommandError(f"--customer: there is no customer {options['customer']!r}.")
        try:
            account = open_account(
                username=options["username"],
                password=None if options["no_password"] else _password(options["password_file"]),
                role=Role(options["role"]),
                full_name=options["name"],
                customer=customer,
            )
        except Refused as refused:
            raise CommandError(refused.detail) from refused
        self.stdout.write(f"Opened {account.username} as {account.role}.")


def _password(path: str | None) -> str:
    if path is None:
        return getpass.getpass("Password: ")
    with open(path, encoding="utf-8") as file:  # noqa: PTH123 - a path as typed by a person
        return file.readline().rstrip("\n")
