"""Owns frozen versions, the customer's page, answers line by line.
Does not own the lines themselves (jobs), invoices.
Read actions.py first."""
