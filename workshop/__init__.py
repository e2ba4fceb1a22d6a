"""Hardstand: one Django project over one pure core. Read DEVELOPERS.md first."""
