"""Owns the business: name, address, rates and tax by date, number series, wordings by version.
Does not own customers, documents.
Read models.py first."""
