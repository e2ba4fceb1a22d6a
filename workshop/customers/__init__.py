"""Owns people and firms, how to reach them, who may approve up to what amount.
Does not own vehicles, debts.
Read models.py first."""
