"""The entries as JSON Lines (jsonlines.org): one object a line, its postings inside, amounts as text."""

import json
from collections.abc import Callable
from functools import cache

from workshop.bookkeeping.actions.rows import About, Case, Entry


def jsonl(about: About) -> Callable[[Entry], str]:
    """An entry as one line."""
    currency = _text(about.currency)

    @cache
    def of_case(case: Case) -> str:
        names = ("role", "line_kind", "tax_code", "customer_kind", "account")
        return ",".join(f'"{name}":{_text(getattr(case, name))}' for name in names)

    def write(entry: Entry) -> str:
        rows = ",".join(
            [
                f'{{"position":{told.position},{of_case(told.case)},"party_uid":"{told.party_uid}","amount":"{told.amount}"}}'
                for told in entry.postings
            ]
        )
        days = f'"entry_uid":"{entry.uid}","dated_on":"{entry.dated_on}","tax_point_on":"{entry.tax_point_on}"'
        words = f'"source_kind":{_text(entry.source_kind)},"reference":{_text(entry.reference)},"words":{_text(entry.words)}'
        return f'{{"batch":{about.no},"entry":{entry.no},{days},{words},"currency":{currency},"postings":[{rows}]}}\n'

    return write


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
