"""Owns the office's first page.
Does not own anything: it reads many rooms.
Read views.py first."""
