"""Owns immutable balanced entries and the close date.
Does not own documents, account names.
Read actions.py first."""
