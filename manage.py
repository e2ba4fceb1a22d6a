#!/usr/bin/env python3
"""The only entry point: `python3 manage.py demo`, `python3 manage.py test`, and every other command."""

import os
import sys

from workshop import bootstrap

# They look at the code or at a database of their own, never at a business: no key is needed for them.
NEED_NO_BUSINESS = {"where", "bench", "makemigrations", "makemessages", "compilemessages"}


def main() -> None:
    """Makes the environment where it is missing, then runs the command in it."""
    arguments = bootstrap.prepare(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    if arguments[1:2] == ["test"]:
        from workshop import testing

        sys.exit(testing.run(arguments[2:]))
    if arguments[1:2] and arguments[1] in NEED_NO_BUSINESS:
        os.environ.setdefault("HARDSTAND_TEST", "1")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(arguments)
    except ImproperlyConfigured as missing:
        sys.exit(str(missing))


if __name__ == "__main__":
    main()
