"""Owns the people who sign in and their roles.
Does not own customers or who may approve (customers).
Read models.py first."""
