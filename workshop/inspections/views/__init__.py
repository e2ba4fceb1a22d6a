"""Sheets of a look: `places` where and how it stands, `findings` what was found, `photos` of it, `tests` and fault codes."""

from workshop.inspections.views.findings import finding, finding_new, link, mend
from workshop.inspections.views.photos import clip_new, photo_mark, photo_new, photo_role
from workshop.inspections.views.places import check_in, intake, site_check
from workshop.inspections.views.tests import clear, codes, test_new

__all__ = [
    "check_in",
    "clear",
    "clip_new",
    "codes",
    "finding",
    "finding_new",
    "intake",
    "link",
    "mend",
    "photo_mark",
    "photo_new",
    "photo_role",
    "site_check",
    "test_new",
]
