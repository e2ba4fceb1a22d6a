"""Owns the mapping to accounts, batches and their files.
Does not own the entries (ledger).
Read actions.py first."""
