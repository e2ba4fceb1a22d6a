#!/usr/bin/env python3
"""The only entry point: `python3 manage.py demo`, `python3 manage.py test`, and every other command."""

import os
import sys

from workshop import bootstrap


def main() -> None:
    """Makes the environment where it is missing, then runs the command in it."""
    arguments = bootstrap.prepare(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    if arguments[1:2] == ["test"]:
        from workshop import testing

        sys.exit(testing.run(arguments[2:]))
    from django.core.management import execute_from_command_line

    execute_from_command_line(arguments)


if __name__ == "__main__":
    main()
