"""Sheets of a look: `places` where and how it stands, `findings` what was found."""

from workshop.inspections.views.findings import finding, finding_new, link, mend
from workshop.inspections.views.places import intake, site_check

__all__ = ["finding", "finding_new", "intake", "link", "mend", "site_check"]
