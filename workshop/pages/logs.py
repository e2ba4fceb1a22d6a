"""What may not stand in a log: the token of a page by link is as good as the page."""

import logging
import re
from typing import Any

SECRET_PATH = re.compile(r"(/(?:q|calendar|company/first)/)[A-Za-z0-9_-]{20,}")


def without_tokens(value: Any) -> Any:
    """The same text with the tokens of links taken out; anything but text as it is."""
    return SECRET_PATH.sub(r"\1…", value) if isinstance(value, str) else value


class NoTokens(logging.Filter):
    """Takes the tokens out of a record before a handler writes it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Always true: the record is written, without what opens a page."""
        record.msg = without_tokens(record.msg)
        if isinstance(record.args, tuple):
            record.args = tuple(without_tokens(argument) for argument in record.args)
        return True
