"""Owns the base pages, the look, faults, format filters, roles of views and the command `where`.

Does not own any business record. Read first: templates/pages/base.html, then errors.py.
"""
