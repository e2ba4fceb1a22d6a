"""Owns the make-believe business, built by calling the real actions. May be deleted.
Does not own anything else.
Read build.py first."""
