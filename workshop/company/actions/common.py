"""What every verb of the business may say no with."""

from workshop.company.models import Company


class Refused(Exception):
    """The sentence to show, and the box it belongs under ("" when it belongs to none)."""

    def __init__(self, sentence: str, box: str = "") -> None:
        super().__init__(sentence)
        self.box = box


class Stale(Refused):
    """Somebody else wrote since the sheet was opened."""


def hold() -> Company | None:
    """Puts the writers of the business in line: its row is locked until commit. None before it is set up."""
    return Company.objects.select_for_update().first()


def require_fresh(shown: str | None, now: str, sentence: str) -> None:
    """Raises Stale when the sheet showed something else than what is on file. `shown` None: nobody looked at a sheet."""
    if shown is not None and shown != now:
        raise Stale(sentence)
