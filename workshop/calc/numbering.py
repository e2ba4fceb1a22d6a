"""Numbers of cards and documents."""

PREFIXES = {"card": "", "invoice": "I", "credit": "C"}  # a letter keeps an invoice apart from its card


def number(kind: str, year: int, value: int) -> str:
    """A number as it is printed: card 26-0117, invoice I26-0117. Raises ValueError for an unknown kind or a value below 1."""
    if kind not in PREFIXES:
        raise ValueError(f"There is no number series {kind!r}.")
    if value < 1:
        raise ValueError(f"Numbers begin at 1, not {value}.")
    return f"{PREFIXES[kind]}{year % 100:02d}-{value:04d}"
