"""Owns the site check, findings with their photos, causes.
Does not own lines of work (jobs).
Read models.py first."""
